"""The trade: its words as types, its figures, its catalogues and its house rules; knows no file."""
