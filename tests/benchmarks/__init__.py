"""Measurements, run by `make bench`: commands, never timed tests."""
