"""The only place where parts meet: inbox, loop, clock, settings, assembly."""
