"""The job: what was heard decides events, events make the state. Pure: no clock, sound or disk."""
