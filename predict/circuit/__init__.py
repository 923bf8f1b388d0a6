"""From one laid-out design to the number that the meter displays: windings, joins, shorts, leads, level,
resonance.

It predicts the readings of given builds; how builds scatter is the business of ``production``.
"""
