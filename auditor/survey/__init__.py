"""What the whole kit says, worked out once: effective settings, who has what, who hears whom."""
