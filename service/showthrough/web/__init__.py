"""The HTTP service and its page: translation only."""
