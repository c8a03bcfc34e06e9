"""Many hostile attempts, for as long as one likes: `python -m tests.fuzz --seed 1 --seconds 60`."""
