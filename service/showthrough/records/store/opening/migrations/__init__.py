"""How a store of an earlier version becomes one of today; Alembic runs them in this process."""
