"""What all tests share: no test fails for taking long on a busy machine."""

from hypothesis import settings

settings.register_profile("auditor", deadline=None)
settings.load_profile("auditor")
