"""Writes every paper of the matrix as a PDF and its pages as pictures, to be looked at.

.venv/bin/python -m tests.paper.look DIR [WORD ...]      only papers whose name has one of the words
"""

import sys
from pathlib import Path
from time import process_time

from shop.paper.leaves import leaves_of, picture_of
from tests.paper import matrix

PAGES = (1, 2, -1)


def main() -> None:
    if len(sys.argv) < 2:
        raise SystemExit((__doc__ or "").strip())
    folder, words = Path(sys.argv[1]), sys.argv[2:]
    folder.mkdir(parents=True, exist_ok=True)
    for case in matrix.cases():
        if words and not any(word in case.name for word in words):
            continue
        begun = process_time()
        content = case.paper.draw(case.data)
        took = process_time() - begun
        (folder / f"{case.name}.pdf").write_bytes(content)
        count = len(leaves_of(content).pages)
        for number in sorted({page if page > 0 else count for page in PAGES if page <= count}):
            (folder / f"{case.name}-{number}.png").write_bytes(picture_of(content, number))
        print(f"{case.name}: {count} page{'s' if count > 1 else ''}, {len(content) // 1024} kB, {took:.2f} s")


if __name__ == "__main__":
    main()
