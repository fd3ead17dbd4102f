"""`python -m stillroom` is the command `stillroom`."""

from __future__ import annotations

from stillroom.cli import main

if __name__ == "__main__":
    main()
