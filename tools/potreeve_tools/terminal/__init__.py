"""How the tool talks with a person: screen, exit codes, lists of faults."""
