"""The figures that printers judge a print by: densities, tone values, trapping.

Arithmetic on readings alone: nothing here predicts, and nothing here knows of files or pages.
"""
