"""The page: one HTML file that shows a report, reads nothing from outside, and can be printed."""
