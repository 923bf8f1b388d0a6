"""The probability of each cause given the readings of one part, in words and numbers, and what to measure
next.

What the causes do to a design stands in ``causes``; many parts together are the business of ``lots``.
"""
