"""The language an owner writes: file in, model or every problem out."""
