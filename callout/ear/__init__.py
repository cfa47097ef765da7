"""Samples in, heard words out: one file per recogniser behind one protocol."""
