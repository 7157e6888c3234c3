"""Make the invented shop's sheets anew, or compare a folder's with them.

    python examples/make_shop.py                    writes examples/shop/sheets
    python examples/make_shop.py FOLDER             writes them there
    python examples/make_shop.py --check FOLDER     says which cells of that folder's sheets differ; exit code 1 if any
"""

import sys
from pathlib import Path

from sheet_files import run
from shop_tables import FILES

SHEETS = Path(__file__).resolve().parent / "shop" / "sheets"

if __name__ == "__main__":
    sys.exit(run(FILES, sys.argv[1:], SHEETS))
