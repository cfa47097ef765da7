"""callout: an offline spoken-checklist assistant for the hangar."""

__version__ = "0.1.0"
