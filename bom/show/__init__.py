"""What is shown: tables, JSON, sentences, sheets of paper and the drawing of the loom."""
