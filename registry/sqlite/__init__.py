"""The registry kept in SQLite: how it is opened, compared with what is known, read and changed."""
