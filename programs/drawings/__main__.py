"""Writes the drawings: python -m programs.drawings."""

from .catalogue import FOLDER, write

if __name__ == "__main__":
    print(f"{write()} drawings in {FOLDER.name}/")
