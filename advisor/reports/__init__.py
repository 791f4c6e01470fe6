"""Decisions put before people and on record."""
