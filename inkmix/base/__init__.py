"""What knows no ink: errors, arrays, files written whole, ordered threads, the cache, loops."""
