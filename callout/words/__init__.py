"""PURE: numbers, phrases and what spoken words mean."""
