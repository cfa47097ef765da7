"""Gauge feeds: lines of CSV or JSON from a file, a port or the network become readings.

Each file has one step of the way:

    sources     where bytes come from: standard input, file, UDP, TCP, serial port
    lines       bytes -> lines, bounded
    parsing     a line -> names and numbers
    columns     names -> the aircraft's gauges, in their units
    clock       the sender's time against ours
    sensor      one gauge: is this number a value?
    doubts      at the start: are these numbers in another unit?
    thinning    how much of it the engine is given
    watch       all of it together: a line -> events for the engine
    recording   a feed as a file, and back
"""
