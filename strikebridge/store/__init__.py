"""The database of athletes and sessions: the only place that knows SQL."""
