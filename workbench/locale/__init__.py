"""What the workbench says in other languages: one folder for each, read by ``workbench.words``."""
