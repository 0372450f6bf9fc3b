"""Burnline's engine: ball motion, friction, oil and wear as pure functions.

Nothing in this package knows about the web, the database or the task queue. Each subject is a module;
import what you need from it, so that reading a score does not load the numerical kernels:

- ``path``: the reference problem (one ball on one friction map) and its fast batch form.
- ``film``, ``reconstruct``, ``boards``: sheets of lane oil, read and turned into a film.
- ``friction``: coefficient of friction from film, cover and surface.
- ``wear``, ``field``: oil moved by passing balls, and the traffic nobody logged.
- ``parameters``: every number the models above lean on, with its source or the word *assumed*.

Inside a computation boards are counted from the bowler's own side; films and lanes are stored from the
right and flipped by index where a left-hander's computation begins (``inputs.own_side``).
"""
