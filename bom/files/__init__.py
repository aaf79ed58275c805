"""Files: spreadsheets in, tables out, and how a file of the user's is put in its place."""
