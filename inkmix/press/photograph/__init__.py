"""From what a camera says of a printed form to colours: light evened, tones and white put right.

Values in, values out; where things lie in the picture is the business of inkmix.sheet.forms.
"""
