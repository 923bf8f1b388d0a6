"""A transformer simulator that shares no forward code with ``aswound.predict``.

It reads the same design files, by itself, and makes parts with known causes: its own layout, leakage field by
finite differences, fringing, copper, capacitance, circuit and production spread. Its readings judge the
diagnosis; where its nominal readings and the prediction disagree, one of the two is wrong.
"""
