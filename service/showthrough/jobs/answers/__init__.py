"""What the answers of the use cases hold; keys are a contract."""
