"""No secret leaks: canaries in every place, and what every command makes of them."""
