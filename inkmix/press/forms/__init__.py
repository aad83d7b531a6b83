"""What a test form prints, and why: patches by tone value, chosen by what the model has to learn.

Pure: press condition, ink limit and plates in, patches out. Where they lie on a sheet, and how they
get into files, is not known here.
"""
