"""Buying what is short, for the least that it can cost.

One question over all lines and suppliers: reels, metres, packs, price breaks, postage, free
postage and minimum orders together.

- `wants`: what is to be bought, and what a choice costs
- `lengths`: whether pieces go on what is bought
- `model`: the question as a programme in whole numbers
- `search`: the answer, and how good it is known to be
- `order`: the answer as lines of an order
- `colours`: before all that, a colour for each circuit

What is bought decides what is cut from where, and what can be cut decides what must be bought:
both are one question, asked in rounds (`search`).  All packs of the same goods are charged at the
one price that their number gives: a ladder of which one rung holds.  To reach a supplier's limit an
order may hold more than is needed, but only of what is on it: nothing is bought as a filler.
"""
