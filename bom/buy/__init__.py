"""Buying what is short, for the least that it can cost.

One question over all lines and suppliers: reels, metres, packs, price breaks, postage, free
postage and minimum orders together.

- `wants`: what is to be bought, and what a choice costs
- `lengths`: whether pieces go on what is bought
- `model`: the question as a programme in whole numbers
- `search`: the answer, and how good it is known to be
- `order`: the answer as lines of an order
"""
