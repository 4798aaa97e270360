"""What is solved thousands of times over, as machine code over tables. Importing a module here brings the compiler."""
