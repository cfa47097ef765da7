"""Practice without an aircraft: drills, the missing person, scores, what to practise next."""
