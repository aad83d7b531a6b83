"""The artist's plates in other inks: which ink goes to which plate, and how that would look."""
