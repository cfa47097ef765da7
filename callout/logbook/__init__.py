"""The event store: append only, durable before anything is said."""
