"""Parts of the HTML report: markup that escapes, its sections, and the style sheet."""
