"""Reads, named for what they return."""
