"""Input that nobody means well with: every command ends in order, whatever it is given."""
