"""The pages, server-rendered over the same jobs."""
