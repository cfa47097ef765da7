"""Practice without an aircraft: drills, the person who is missing, scores, what to practise next."""
