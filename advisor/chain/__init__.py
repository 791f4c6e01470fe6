"""Chaining forward: compiling rules for durable-rules, running them, and checking every run."""
