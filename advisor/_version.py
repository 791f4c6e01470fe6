"""The version of the program, for records and `--version`."""

VERSION = "0.1.0"
