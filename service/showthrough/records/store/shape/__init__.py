"""What is written and what is handed out: tables, rows, texts and their differences."""
