"""The room where lists are made: asked for, taken over from paper, read through, compared."""
