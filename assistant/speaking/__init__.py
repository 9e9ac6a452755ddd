"""Words out: what is said for each event, and the voices that say it."""
