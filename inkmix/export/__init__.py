"""Files that leave the program: pictures in RGB. How a file gets there: base/output_files."""
