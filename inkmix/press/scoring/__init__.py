"""Parts of the score: charts, what is told of them, what is told besides, and the figures."""
