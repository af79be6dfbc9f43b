"""What a colour is: notation, spectrum, difference, lights.

Each line rests on those above it only:

- ``lights``, then ``space`` and ``difference``: arrays of light, CIELAB, how they differ;
- ``smoothest``, ``spectrum``: a reflectance spectrum for a colour, and what paint can be;
- ``checks`` and ``remarks`` of ``reading``: what was read, and what it stands for;
- ``bands``, ``cloud``: a measured spectrum's grid, and where the truth may lie;
- ``munsell``, ``tristimulus``: readings from numbers;
- ``names``, ``notation``: words for colours;
- ``files``: many readings at once.
"""
