"""What goes out whole, as a backup or an export, and comes in; what an erased customer leaves."""
