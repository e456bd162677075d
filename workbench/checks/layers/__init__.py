"""Layer by layer: what each layer rests on, what hangs, what is too thin."""
