"""The form of a fleet, a profile and a policy: what may be written, and as what type it is read."""
