"""The trade: its words as types, its figures, its house rules and its catalogues."""
