"""PURE: the state machine of a session."""
