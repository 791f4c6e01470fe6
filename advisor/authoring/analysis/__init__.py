"""Static findings about a whole rule set: what can be told of its rules without any case."""
