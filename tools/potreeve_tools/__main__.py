"""`python -m potreeve_tools` is the same as `potreeve`."""

from potreeve_tools.cli import main

if __name__ == "__main__":
    main()
