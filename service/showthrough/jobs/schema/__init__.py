"""What a job and a request may say."""
