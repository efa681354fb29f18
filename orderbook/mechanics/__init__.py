"""The barrel, the strip, the torque, drive and load, the fusee and the train: pure numbers.

Plain floats and arrays in, plain out; mm, N, N·mm, MPa, turns.
"""
