"""Each change of the schema, in order; one that was published is never edited."""
