"""What an audit costs, beside what else the machine could do with the same kit."""
