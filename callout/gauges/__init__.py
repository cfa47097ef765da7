"""Readings: what the gauges show, where they come from, and a machine to practise on."""
