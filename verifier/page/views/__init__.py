"""What the page answers to each request, one module for each thing that a person does."""
