"""Keep and find: rows, engine, migrations, backups, queries."""
