"""Large seeded experiments: one module is one command, `python -m tests.trials.NAME`; a part of each is a slow test."""
