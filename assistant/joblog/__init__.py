"""The log is the only truth: one SQLite file a job, one transaction an event."""
