"""What every cause, and every measurement or intervention that may follow, would read: the forward runs
behind a diagnosis.

How probable each is, given the readings, is the business of ``diagnosis``.
"""
