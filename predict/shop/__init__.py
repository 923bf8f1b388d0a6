"""A design as the shop builds it: steps with heights and wire to cut, and what can be read while it is
wound.

Limits for those readings are the business of ``compare.plan``; text and pages that of ``cli``.
"""
