"""The built-in shop, and the commented file that sets it out with the source of every value."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Final

from panewright.nesting.allowances import DEFAULT_ALLOWANCES, AllowanceStep
from panewright.nesting.glass import designation, glass_key
from panewright.nesting.panels import Turn
from panewright.nesting.shop import (
    CuttingChoice,
    GlassKind,
    Process,
    Shop,
    StockSize,
)
from panewright.nesting.units import EXACT, MONEY, mm, show

SIZES: Final = ((3210, 2250), (3210, 2550), (6000, 3210))
"""Sheet sizes [mm]: 6000 x 3210 as in EN 572-2; the others by the width of the float ribbon."""

PRICES: Final = {
    "clear": {4: "6.10", 6: "9.20", 8: "13.10", 10: "17.40", 12: "22.80", 15: "38.50", 19: "56.00"},
    "low-iron": {6: "14.90", 8: "20.80", 10: "27.30", 12: "35.10", 15: "57.00", 19: "81.00"},
    "grey-tint": {6: "13.40", 8: "18.90", 10: "25.60"},
    "patterned": {4: "11.20", 6: "15.80"},
    "coated": {6: "19.50", 8: "24.90"},
}
"""Invented prices. [EUR per m2]"""

_JUMBO_SHARE: Final = Fraction(94, 100)
_ANNEALED: Final = (3, 4, 5, 6, 8, 10, 12, 15, 19)


def default_shop() -> Shop:
    """The built-in settings, used where there is no shop file."""
    return Shop(
        kinds={kind.kind: kind for kind in _default_kinds()},
        stock_sizes=tuple(_default_sizes()),
        cutting=CuttingChoice(
            levels=3,
            last_cut=True,
            longest_cut=0,
            largest_piece=(0, 0),
            level1_gap=(0, None),
            level1_width=(0, None),
            level2_width=0,
            least_waste=0,
            deepest_once=False,
            least_offcut=(mm(600), mm(300)),
            least_angle=30_000,
            inner_radius=0,
        ),
        allowances=dict(DEFAULT_ALLOWANCES),
    )


def _default_kinds() -> list[GlassKind]:
    def some(*thicknesses: int) -> tuple[int, ...]:
        return tuple(mm(t) for t in thicknesses)

    return [
        GlassKind(kind="clear", thicknesses=some(*_ANNEALED)),
        GlassKind(kind="low-iron", thicknesses=some(*_ANNEALED[1:])),
        GlassKind(kind="grey-tint", thicknesses=some(4, 6, 8, 10)),
        GlassKind(kind="patterned", turn=Turn.HALF, mirror=False, thicknesses=some(4, 6), is_float=False),
        GlassKind(kind="coated", mirror=False, thicknesses=some(4, 6, 8)),
        GlassKind(kind="toughened", process=Process.NOT_CUTTABLE, thicknesses=some(*_ANNEALED)),
        GlassKind(
            kind="laminated",
            process=Process.OTHER,
            thicknesses=some(6, 8, 10, 12, 16, 20),
            is_float=False,
        ),
    ]


def _default_sizes() -> Iterable[StockSize]:
    for kind, prices in PRICES.items():
        for thickness, price in prices.items():
            for width, height in SIZES:
                share = _JUMBO_SHARE if width == 6000 else 1
                cents = Fraction(price) * width * height * share / 10_000
                yield StockSize(
                    glass=glass_key(kind, mm(thickness)),
                    width=mm(width),
                    height=mm(height),
                    price=int(cents + Fraction(1, 2)) * MONEY // 100,
                    lead_days=5 if width == 6000 else 3,
                )


_HEAD: Final = """\
# The shop file of panewright: every setting of the shop, with its built-in value and its source.
# Lengths are millimetres; a text may name the inch instead, as in "1/2 in".
# A setting that is deleted here keeps its built-in value.
#
# Glass can hurt and kill people who carry, cut, break, stack or work it. The values below are where
# to start from; the shop's own tables, its insurers and the local rules decide.

name = {name}                # heading of lists and drawings
language = "{language}"          # of all texts: "en" English, "de" Deutsch; lists keep their English columns
currency = "{currency}"         # three capital letters
dates = "{dates}"     # "year first": 2027-03-09 alone; "day first": 9.3.2027 too; "month first": 3/9/2027 too

[lengths]
show = "{show}"              # how lengths are shown: "mm" or "in"
decimals = {decimals}             # decimals of a millimetre, 0 to 6
finest = "1/64"          # finest fraction of an inch, where inches are shown
lists = "{lists}"             # unit of bare numbers in panel and stock lists

[offcuts]
worth = {worth}              # worth of an offcut over the cheapest new glass per area, 0 to 1 [a shop's own choice]
a_plan = {a_plan}               # offcuts that one plan may leave; smaller ones are cullet [a shop's own choice]
tolerance = {tolerance}         # largest offcuts closer than this share count as equal [a shop's own choice]
days = 0                # its worth falls to nothing in so many days in the stock store; 0: it keeps it [a shop's own choice]

[lifts]                  # above these: suction lifter or crane [common practice; local rules decide]
one_person_kg = {one_kg}
one_person_length = {one_length}
two_persons_kg = {two_kg}

[cutting_days]           # with `plan --from DAY` every sheet gets a cutting day [the shop's own table]
# sheets = 12            # sheets and offcuts that are cut up on a working day, at most
# minutes = 420          # working time of the table on such a day; with it, from the shop's own clock:
# minutes_a_sheet = 6    # to lay a sheet up and clear it away
# minutes_a_cut = 0.75   # for one score and break
working = ["mon", "tue", "wed", "thu", "fri"]
free = []                # days without cutting, as in ["2027-03-29", "2027-12-24"]

[table]                  # work at the cutting table; all times are assumptions until the shop has timed ten cuts
habit = "by mass"        # "stop": cut by cut against a stop; "strip": one placement a strip, marked from one edge,
                         # scored, broken by halves; "machine": scored as a whole, then broken out; "by mass":
                         # "strip" from strip_from_kg on, else "stop", and "machine" at a machine table
strip_from_kg = 25       # sheets from this mass on are laid down once a strip [common practice]
waiting = 4              # pieces that may wait beside the one in hand; beside a machine ten at least [the shop's own]
scores_a_placement = 6   # parallel scores before the first break; a score should be broken soon [common practice]
to_the_mark = {mark}     # true: cut sizes of rectangles go up to what a tape shows (marks, under [cutting]), where an
                         # edge is worked anyway and takes the rest off; finished sizes never change
seconds_a_setting = 8    # to set the stop to another measure [all of these: assumptions, the shop's own]
seconds_a_mark = 3       # one mark along an edge
seconds_a_turn = 3       # a quarter turn, and so much more for each kilogram of the piece:
seconds_a_turn_and_kg = 0.15
seconds_a_grip = 3       # to put a piece away and take up another, and for each kilogram:
seconds_a_grip_and_kg = 0.1
seconds_a_slide = 1.5    # to bring a piece to the stop, and for each kilogram:
seconds_a_slide_and_kg = 0.05
seconds_a_score = 2      # a score, and for each metre of it:
seconds_a_metre = 1.5
seconds_a_break = 2      # a break, and for each metre of it at the very edge of the piece, none at its middle:
seconds_a_far_metre = 4
seconds_a_hard_break = 5 # more for a strip under 60 mm off a piece more than three times as wide
seconds_a_rest = 2       # a panel that is left over instead of being measured
seconds_a_sheet = 360    # to lay up a sheet and clear it away

[racks]                  # where panels of open orders wait for the edging line [the shop's own]
names = ["A", "B", "C"]
slots = 10               # places on each rack, one for an order
# edging_metres = 180    # metres of edge that the edging line works on a day

[print]                  # paper of the cut book: "A4" or "Letter"
paper = "A4"

[print.labels]           # paper = "A4", "Letter", or "roll" for one label a page
paper = "A4"
columns = 2
rows = 5
size = [99, 57]          # width and height of one label
first = [6, 6]           # from the left and the upper edge of the paper to the first label
step = [99, 57]          # from a label to the next one across and down

[lead_days]              # working days from cutting to the wanted day, by the working days above [the shop's own]
edging = 1
drilling = 1             # only for what has holes or cut-outs
bonding = 1
curing = 5               # by the maker of the silicone; thick joints take longer

[tanks]                  # how tanks are built where the order says nothing [common practice; the shop's own]
walls = "on base"        # walls stand "on base" or "around base"
joint = 1                # thickness of every bonded joint; 0.5 to 1 at least, 2 to 3 for large tanks
freeboard = 30           # stated water level, below the top edge of the walls
cover_thickness = 6      # lids and sliding covers
inside_thickness = 6     # dividers, baffles and overflow boxes
brace_width = 80         # rim braces
cross_width = 120        # cross braces
cover_clearance = 3      # kept free on every side of lids and sliding covers
fillet = 6               # leg of the seam of silicone inside, along every joint
cartridge_ml = 310       # contents of a cartridge of silicone
tolerance = "tank"       # level that lists state: "tank" (0.5 mm, matched pairs alike), "EN 572-8", "ASTM C1036"
shown = "polished"       # edges that show
bonded = "ground"        # bonded edges of walls
base = "ground"          # rim of a base that carries the walls
inside = "seamed"        # bonded edges of braces and interior panels; DIN 32622 asks for seamed at least

[edging]                 # limits of the edging line [common practice; the machine's own data]
least_width = 80         # narrower pieces are edged before they are divided, or by hand
greatest_length = 4000   # longest edge
greatest_height = 2500   # size square to the edge that is worked
greatest_mitre = 45      # degrees from square

[tips]                   # sharp corners, beyond which the cut outline reaches far
cut_back = false         # true: cut off within the glass that edgework removes, so that the blank gets smaller
reach = 3                # how far they may reach then, times the larger allowance of both edges [the shop's own]

[strength]               # the thickness check, a planning aid: a qualified person and local codes decide
design_stress = 5.0      # N/mm2, just below a hobby formula of 2001 (5.05) and the clean-cut edge of ASTM E1300 under
                         # lasting load (5.1, from memory); EN 16612 comes to 7.25, with its edge factor to 5.8, with a
                         # load factor of 1.35 to 5.4, with both to 4.3 (inputs partly from memory); neither covers tanks
bond_stress = 0.14       # N/mm2 in bonded joints: 20 psi as for structural silicone in facades [ASTM C1401, from
                         # memory; not for lasting load], under a quarter of the strength that DIN 32622 asks for (0.6)
bond_modulus = 1.0       # N/mm2; silicone between cross brace and wall [from memory; the maker's data]
deflection = 300         # a wall may bow by its length over this; "none": no limit [common practice]
least_thickness = "lower" # strength counts the least thickness by "EN 572-2", "ASTM C1036" or the "lower" of both
base = "bedded"          # tanks stand "bedded" on their whole base, or on its "rim"
frame = "not known"      # a frame "holds" the top edge by the shop's word, or by its stiffness E I in N m2
too_thin = "warn"        # too thin glass: "warn", or "stop" the run

[breakage]               # for `plan --spares` and `stock breakage`; all of these: [our assumption] until the record tells
rate = 0.005             # share of panels that break at a step, where the step has no line of its own below
weight = 200             # counts as much as so many recorded panels, at each of step, glass and size
remake_cost = 20         # to make one panel again, besides its glass: finding it out, cutting, edging, asking about
spare_cost = 3           # to cut one spare and keep it; its glass comes from waste and costs the offcut lost
late_day_cost = 10       # a working day by which a panel is late
remake_days = 2          # working days until a broken panel is cut again

[breakage.steps]         # "scoring", "breaking", "edging", "drilling" (saw and water jet too), "handling"
breaking = {{ rate = 0.01 }}
drilling = {{ rate = 0.02, weight = 100 }}

[buying]                 # for `forecast`, `buy` and `sizes`; all of these: [our assumption], the shop's own figures decide
service = 0.95           # share of replenishments in which the stock is to last, 0.5 to 0.999
review_weeks = 1         # weeks from one look at the stock to the next
holding = 0.2            # what a year of holding a sheet costs over its price: money, space, breakage
order_cost = 40          # what an order costs besides glass and freight: to write it, unload and book it in
short_cost = 50          # what each sheet that is not there costs in a week, over its price
storage_kg = "none"      # what the racks may carry in all, as in 12000, or "none"
shut = []                # first and last days in which nothing is cut, as in [["2027-12-20", "2028-01-02"]]

[buying.service_for]     # other shares for some glasses, as in clear-12 = 0.98

[buying.storage_sheets]  # sheets that the racks hold of a glass, as in clear-12 = 30

[cutting]                # rules for every glass; [[for_glass]] below goes over them
table = "{table}"           # "hand" or "machine": the least trim is 10 or 20 mm [common practice]
levels = {levels}               # changes of direction that the table can follow: 2, 3, 4 or "free" [common practice]
last_cut = true          # one more cut may free a panel from waste [common practice]
longest_score = "none"   # longest score of the table, or "none" [the table's own limit]
largest_piece = "none"   # largest sheet that the table takes, as in [6100, 3300], or "none" [the table's own limit]
level1_distance = [0, "none"] # least and greatest distance of level-1 cuts [the table's own limit]
level1_width = [0, "none"] # least and greatest width between two level-1 cuts, the sides of the sheet counted as cuts;
                         # the least is not asked of waste, the greatest not of the rest [the table's own limit]
level2_width = 0         # least width between two level-2 cuts, waste apart [the table's own limit]
least_waste = 0          # least width of waste and offcuts, where it is more than break_out [the table's own limit]
deepest_once = false     # true: at the fourth level a piece is cut once and no part of it again [the table's own limit]
least_offcut = [600, 300] # smallest leftover worth keeping, either way round [a shop's own choice]
least_angle = 30         # degrees; least angle of a corner broken off by an angled score [common practice]
inner_radius = "none"    # least radius of inner corners, which saw, drill or water jet make, or "none" [the tools' own]
# These follow the table and the unit of lengths unless they are set:
# longest_angled_score = 2500 # longest score that is not parallel to a side of the sheet: 2500 by hand (a straightedge
#                        # and an arm reach no further), "none" by machine [common practice]; a panel that needs a
#                        # longer one is named as impossible
# marks = 0.5            # measures and marks are rounded to this on the texts for the table: 0.5, or "1/32 in"
#                        # where inches are shown, by hand; "exact" by machine [common practice]; as in 0.1, 1 or
#                        # "1/16 in". The sequence states the error that this makes; exact marks stand in its CSV
# These follow the thickness t of the glass unless they are set:
# break_out = 30         # least width that can be broken off: 3 t, at least 20 [common practice; a training
#                        # manual for builders has slivers under 13 mm nibbled off, not snapped]
# corner_depth = 25      # least depth of a corner broken off by an angled score: 2.5 t [common practice]
# trim = 20              # at raw sides left and bottom: 2 t [a processor's page: a score nearer to the edge than
#                        # 2 t does not run], at least 10 by hand or 20 by machine; right and top get 5 mm more,
#                        # for sheets come up to 5 mm short or long [EN 572-2, from memory]
# trim = {{ left = 20, right = 25, bottom = 20, top = 25 }}

# Rules for some glasses: the same settings, for a kind, a thickness, or from a thickness on.
# A later block goes over an earlier one.
# [[for_glass]]
# kind = "coated"
# thickness_from = 15
# break_out = 60

[allowances]             # glass that edgework removes, square to each edge, in mm
# 0 to 0.3 for seaming, 1 to 1.5 for a straight-line edger and 2 from 12 mm on, 0.5 to 1 for a bevel's nose,
# 1 to 2 for a mitre [common practice, from memory]; one glass seller states 2.5 for flat polish: measure
# your own machine. Steps: [{{ from = 0, off = 1.5 }}, {{ from = 12, off = 2.0 }}], from = thickness in mm; a mitre
# may also have from_angle = degrees from square.
{allowances}

# Kinds of glass. turn: "any", "quarter", "half" or "none"; mirror: may be cut mirror-image and turned over;
# process: "cut", "not cuttable" (toughened: cut, edge and drill first) or "other process" (laminated);
# float: whether it is a plate of float glass, the only one that the thickness check speaks of.
# Thicknesses: the usual European ones [a builder's page quoting EN 572-2]; inch names in lists
# are read by ASTM C1036 (3/8 in is 10, 1/2 in is 12).
{kinds}

# Stock sizes by glass: size and price of one sheet. 6000 x 3210 is the large sheet of EN 572-2; the others
# are common cuts of the ribbon width [from memory]. ALL PRICES ARE INVENTED: put in your own.
# A size may have a trim of its own, as in trim = 25.
[stock]
{stock}
"""


def shop_text(shop: Shop) -> str:
    """The commented shop file of the built-in settings, or of others that differ from them only in
    name, kinds, stock sizes and allowances.
    """
    return _HEAD.format(
        name=_quoted(shop.name),
        language=shop.language,
        currency=shop.currency,
        dates=shop.date_order,
        show=shop.length_style.unit,
        decimals=shop.length_style.fineness,
        lists=shop.list_unit,
        worth=_number(shop.offcut_worth),
        a_plan=shop.offcuts_a_plan,
        tolerance=_number(shop.offcut_tolerance),
        one_kg=_number(Fraction(shop.lifts.one_grams, 1000)),
        one_length=_length(shop.lifts.one_length),
        two_kg=_number(Fraction(shop.lifts.two_grams, 1000)),
        table=shop.table.value,
        mark="true" if shop.work.to_the_mark else "false",
        levels=shop.cutting.levels,
        allowances="\n".join(f"{work.value} = {_steps(steps)}" for work, steps in shop.allowances.items()),
        kinds="\n\n".join(_kind(kind) for kind in shop.kinds.values()),
        stock="\n".join(_sizes(shop)),
    )


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _number(value: Fraction) -> str:
    return f"{(Decimal(value.numerator) / Decimal(value.denominator)).normalize():f}"


def _length(length: int) -> str:
    return show(length, EXACT, unit=False)


def _steps(steps: tuple[AllowanceStep, ...]) -> str:
    if len(steps) == 1 and not steps[0].thickness_from and not steps[0].angle_from:
        return _length(steps[0].allowance)
    parts = []
    for step in steps:
        angle = f", from_angle = {_number(Fraction(step.angle_from, 1000))}" if step.angle_from else ""
        parts.append(f"{{ from = {_length(step.thickness_from)}{angle}, off = {_length(step.allowance)} }}")
    return f"[{', '.join(parts)}]"


def _kind(kind: GlassKind) -> str:
    return "\n".join(
        (
            f"[kinds.{kind.kind}]",
            f'turn = "{kind.turn.value}"',
            f"mirror = {'true' if kind.mirror else 'false'}",
            f'process = "{kind.process.value}"',
            f"float = {'true' if kind.is_float else 'false'}",
            f"thicknesses = [{', '.join(designation(t) for t in kind.thicknesses)}]",
        )
    )


def _sizes(shop: Shop) -> Iterable[str]:
    for key in dict.fromkeys(size.glass for size in shop.stock_sizes):
        yield f"{key} = ["
        for size in shop.sizes_of(key):
            lead = "" if size.lead_days is None else f", lead_days = {size.lead_days}"
            price = _number(Fraction(size.price, MONEY))
            yield f"  {{ size = [{_length(size.width)}, {_length(size.height)}], price = {price}{lead} }},"
        yield "]"
