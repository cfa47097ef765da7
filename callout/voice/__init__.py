"""Sentences in, sound out: one file per synthesiser behind one protocol."""
