"""What is kept, a module for each kind, and what is read of several kinds."""
