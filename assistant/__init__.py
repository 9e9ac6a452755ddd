"""Hoseside: an offline, hands-free field assistant for drain-line jetting."""

__version__ = "0.1.0"
