"""The rows that people choose from: cores, enamelled wires and core materials, each with its source.

It reads rows and checks them; what a core of such dimensions does is computed in ``cores``.
"""
