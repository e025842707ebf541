"""Large seeded experiments: one module is one command, `python -m tests.trials.NAME`; a part of each runs as a slow test."""
