"""The pages of the workbench, one module each."""
