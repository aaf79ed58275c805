"""The user's stock book, written to: the only room that changes a book that is not ours."""
