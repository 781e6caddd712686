"""`python -m diagnose`: the same as the `diagnose` command."""

from diagnose.commands.main import main

if __name__ == "__main__":
    main()
