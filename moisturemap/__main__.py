"""``python -m moisturemap``."""

from moisturemap.cli import main

if __name__ == "__main__":
    main()
