"""Laws that readings of one part obey whatever the design, and what can be derived from them: k, M,
equivalent circuits.

It needs no prediction; readings against a design are compared in ``verdict``.
"""
