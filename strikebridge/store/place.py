"""Where the database stands in a data folder; known without loading any of its library."""

FILE = "strikebridge.sqlite"
LOGS = (f"{FILE}-wal", f"{FILE}-shm")
"""What stands beside it while it is in use; part of it and of nothing else."""
