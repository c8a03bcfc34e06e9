"""What all tests share: none fails for taking long, and two runs try the same examples."""

from hypothesis import settings

settings.register_profile("auditor", deadline=None, derandomize=True)
settings.load_profile("auditor")
