"""Settings for every test."""

from __future__ import annotations

from hypothesis import settings

# The same examples everywhere and each time, so that a tree which passes once passes wherever it is tried.
# `--hypothesis-profile=searching` looks for new ones. No deadline: a slow machine is not a wrong program.
settings.register_profile("repeatable", derandomize=True, database=None, deadline=None)
settings.register_profile("searching", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile("repeatable")
