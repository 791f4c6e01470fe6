"""Why a verdict is what it is, from the decision alone."""
