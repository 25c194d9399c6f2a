"""Records: tables, transactions, migrations, originals and history."""
