"""The arrangements of a design: which orders and divisions of its windings can be wound, each as a design,
and what the bench reads of each.

Which of them are worth a look is judged in ``compare.plan``.
"""
