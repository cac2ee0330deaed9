"""The openings of a row of a panel list: words, places on the glass, published limits."""

from __future__ import annotations

from panewright.io.lengths import BadValue
from panewright.io.opening_words import MAX_OPENINGS, parse_opening
from panewright.io.row_cells import Cells
from panewright.nesting.hole_limits import check_openings, counted_thickness, region_of
from panewright.nesting.openings import Opening, misplaced
from panewright.nesting.outlines import Outline
from panewright.nesting.text import tr

COLUMN = "openings"


def read_openings(cells: Cells, outline: Outline | None, thickness: int) -> tuple[Opening, ...]:
    """The openings of a row; whatever is wrong with them is noted.

    Parameters
    ----------
    cells
        The row.
    outline
        Finished outline, or None where it cannot be read: then only the words are checked. [nm]
    thickness
        Of the glass. [nm]
    """
    texts = [part.strip() for part in cells.text(COLUMN).split("|")]
    if texts == [""]:
        return ()
    if len(texts) > MAX_OPENINGS:
        cells.bad(
            COLUMN,
            tr("the panel has more than {limit} openings", limit=MAX_OPENINGS),
            tr("leave out the openings that another panel has"),
        )
        return ()
    found: list[Opening] = []
    for number, text in enumerate(texts, start=1):
        try:
            found.append(parse_opening(text, thickness, cells.corner_unit(COLUMN), cells.table.decimal))
        except BadValue as error:
            reason = tr("opening {number}: {reason}", number=number, reason=error.reason)
            cells.bad(COLUMN, reason, error.remedy, text or None)
    openings = tuple(found)
    if outline is None or len(openings) < len(texts):
        return openings
    faults = misplaced(outline, openings)
    for fault in faults:
        reason = tr("opening {number}: {reason}", number=fault.index + 1, reason=fault.reason)
        cells.bad(COLUMN, reason, fault.remedy, texts[fault.index])
    if not faults:
        region = region_of(cells.shop.list_unit)
        for finding in check_openings(outline, counted_thickness(thickness, region), openings, region):
            number = finding.openings[-1]
            words = finding.words
            if len(finding.openings) == 1:
                words = tr("opening {number}: {words}", number=number + 1, words=words)
            cells.note(
                COLUMN,
                words,
                finding.remedy,
                texts[number],
            )
    return openings
