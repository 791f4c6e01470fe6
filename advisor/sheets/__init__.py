"""What people write: engine sheet, case, vocabulary and rule set, read with the place of every fault."""
