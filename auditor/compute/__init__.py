"""Pure sums over plain values: no models, no files, only the standard library."""
