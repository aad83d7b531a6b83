"""What will print, as pictures: a spread's windows coloured, whole, small or plate by plate."""
