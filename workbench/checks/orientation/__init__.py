"""Which way up to print: sides to lie on, and what each would cost."""
