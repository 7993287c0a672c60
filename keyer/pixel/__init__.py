"""Arrays in, arrays out: the arithmetic of pictures. No paths, no models.

A picture passes through the rooms in this order:

1. `colour`: samples of any depth become bands of R'G'B', coded or in light;
2. `keys`: a key plate becomes a matte, and the subject its own colour;
3. `mattes`: the matte is worked on by hand: masks, finishing, shadows;
4. `wipes`: a pattern's field becomes the weights of two pictures;
5. `compose`: pictures are placed, mixed, wiped and laid on each other;
6. `colour` again: bands become samples.

`kernels` holds how all of it is compiled and run in bands.
"""
