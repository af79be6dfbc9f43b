"""What a job costs, in exact decimals."""
