"""Text to meaning: a strict parse against what may be said now, into one typed result."""
