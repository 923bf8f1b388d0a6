"""Where every turn lies: build steps become layers, what does not fit is a fault, insulated faces and the
cross-section follow.

It knows places and lengths only; fields, resistance and capacitance of what lies there are computed
elsewhere.
"""
