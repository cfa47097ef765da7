"""Measurements: what ears, turns, starts, limits and logbooks do, on sound and files of this disk.

Rule of this room: a bench drives the program as it is and changes nothing in it; no other
room but `cli` knows of it.
"""
