"""One board that does not work: which cause explains what is seen, and where to look next."""
