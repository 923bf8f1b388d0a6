"""Files of readings and fixtures → readings in SI, every bad row reported; corrections by open, short and
load standards.

It knows the design's tests by name only; what they should read is the business of ``verdict``.
"""
