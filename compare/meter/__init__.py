"""The uncertainty of one reading: what the meter adds, what handling adds, how both propagate into computed
values.

How far parts themselves scatter is the business of ``predict.production``.
"""
