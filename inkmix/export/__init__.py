"""Files that leave the program: pictures in RGB. Each is written aside, then put in place whole."""
