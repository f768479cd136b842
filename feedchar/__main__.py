"""`python -m feedchar` is the command `feedchar`."""

from feedchar.cli.main import main_entry

if __name__ == "__main__":
    main_entry()
