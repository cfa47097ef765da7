"""What was recorded, as reports of one session and trends over many."""
