"""The command line: one module per command, with its options, its help and its example; what it does is in commands."""
