"""Markings by colour: bands, dots, bodies and ends, read into a Spec and written back into colours.

`faults` (the error) <- `names` (colours) <- `schemes` (places and tables of colours.toml) <- `wording`, `ends` <- `reading`
<- `writing`.
"""
