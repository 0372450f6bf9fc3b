"""Numba kernels: floats and arrays in fixed units, no objects, no hidden state."""
