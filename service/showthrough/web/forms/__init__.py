"""Forms of the page: fields, texts, and the jobs they stand for."""
