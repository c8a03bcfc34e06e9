"""Runs the command line: `python -m auditor`."""

from auditor.cli import main

main()
