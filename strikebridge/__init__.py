"""strikebridge: a cheap load cell behind a wall ball, turned into numbers worth trusting."""
