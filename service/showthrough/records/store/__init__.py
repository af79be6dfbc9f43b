"""What is kept: jobs and their versions, paints, customers, photos; SQLite or PostgreSQL."""
