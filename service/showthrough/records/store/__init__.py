"""What is kept: jobs and their versions, paints, customers, photos; SQLite or PostgreSQL.

From what leaves the store down to its tables, which a contract of layers holds, also in the rooms:

- ``leaving/``: ``backup``; ``exchange`` and ``exported`` (an export and its words); ``erase``
- ``kept/``: ``outcomes``, ``paints``, ``photos``; ``jobs``; ``lessons`` (what outcomes teach);
  ``customers``, ``answers``, ``reads``; ``search``, ``model``
- ``opening/``: ``opened`` (transactions, their faults); ``migrate``, ``migrations/``, ``address``;
  ``there`` (whether anything is kept at all)
- ``shape/``: ``rows`` (what is handed out), ``tables``, ``texts``, ``differ``
"""
