"""The built-in ear: our own small acoustic model, decoded against the grammar that counts now."""
