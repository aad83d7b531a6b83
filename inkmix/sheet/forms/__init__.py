"""A test form on its sheet, in millimetres from the plate's top left corner: patches and marks.

Only geometry; a layer is the number of an ink, or PAPER. Nothing here knows a colour or a file.
"""
