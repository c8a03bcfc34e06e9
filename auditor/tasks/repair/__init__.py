"""Repair: the smallest set of changes with which a kit audits clean."""
