// Which panels and cuts flaws hit, and which steps are held back. Its twin is nesting/flaw_hits.py, which tells the
// rules; whole nanometres as BigInt, so that both always say the same.

const big = (numbers) => numbers.map(BigInt);

// corners [x, y] of an outline of flat numbers, or of a rectangle x, y, width, height
function cornersOf(numbers) {
  const n = big(numbers);
  if (n.length === 4) {
    const [x, y, w, h] = n;
    return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
  }
  return n.flatMap((x, i) => (i % 2 ? [] : [[x, n[i + 1]]]));
}

const cross = (a, b, p) => (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
const least = (values) => values.reduce((a, b) => (b < a ? b : a));
const most = (values) => values.reduce((a, b) => (b > a ? b : a));
const sidesOf = (corners) => corners.map((a, i) => [a, corners[(i + 1) % corners.length]]);

// a scratch or a point counts as 2 nm wide
function flawBox([x, y, w, h]) {
  const [dx, dy] = [w ? 0n : 1n, h ? 0n : 1n];
  return [x - dx, y - dy, x + w + dx, y + h + dy];
}

const boxCorners = ([x0, y0, x1, y1]) => [[x0, y0], [x1, y0], [x1, y1], [x0, y1]];

function apart(corners, box) {
  const [xs, ys] = [corners.map((p) => p[0]), corners.map((p) => p[1])];
  if (most(xs) <= box[0] || least(xs) >= box[2] || most(ys) <= box[1] || least(ys) >= box[3]) return true;
  return sidesOf(corners).some(([a, b]) => boxCorners(box).every((p) => cross(a, b, p) <= 0n));
}

// points [x, y, w], to be divided by w, whose hull is what a convex outline and a box have in common
function common(corners, box) {
  const [x0, y0, x1, y1] = box;
  const sides = sidesOf(corners);
  const out = boxCorners(box).filter((p) => sides.every(([a, b]) => cross(a, b, p) >= 0n)).map((p) => [...p, 1n]);
  out.push(...corners.filter(([x, y]) => x0 <= x && x <= x1 && y0 <= y && y <= y1).map((p) => [...p, 1n]));
  for (const [[ax, ay], [bx, by]] of sides) {
    const [dx, dy] = [bx - ax, by - ay];
    for (const x of [x0, x1]) {
      if ((ax - x) * (bx - x) < 0n) {
        const [w, y] = dx > 0n ? [dx, ay * dx + (x - ax) * dy] : [-dx, -(ay * dx + (x - ax) * dy)];
        if (y0 * w <= y && y <= y1 * w) out.push([x * w, y, w]);
      }
    }
    for (const y of [y0, y1]) {
      if ((ay - y) * (by - y) < 0n) {
        const [w, x] = dy > 0n ? [dy, ax * dy + (y - ay) * dx] : [-dy, -(ax * dy + (y - ay) * dx)];
        if (x0 * w <= x && x <= x1 * w) out.push([x, y * w, w]);
      }
    }
  }
  return out;
}

// whether all points lie at most so far to the left of the line from a through b
function within(points, [ax, ay, bx, by, depth]) {
  const [dx, dy] = [bx - ax, by - ay];
  const far = depth * depth * (dx * dx + dy * dy);
  return points.every(([x, y, w]) => {
    const off = dx * (y - ay * w) - dy * (x - ax * w);
    return off <= 0n || off * off <= far * w * w;
  });
}

// a panel: [index, piece, outline, {kind: [outline of what is not ground off, bands or null for anywhere]}]
function coversFlaw([, , outline, taken], flaw, kind) {
  const box = flawBox(flaw);
  if (apart(cornersOf(outline), box)) return false;
  if (!taken || !Object.hasOwn(taken, kind)) return true;
  const [region, bands] = taken[kind];
  if (bands === null) return false;
  const corners = cornersOf(region);
  if (apart(corners, box)) return false;
  const inside = common(corners, box);
  return !bands.some((band) => within(inside, big(band)));
}

function crossesFlaw(line, flaw) {
  const box = flawBox(flaw);
  const [ax, ay, bx, by] = big(line);
  if (most([ax, bx]) <= box[0] || least([ax, bx]) >= box[2]) return false;
  if (most([ay, by]) <= box[1] || least([ay, by]) >= box[3]) return false;
  const turns = boxCorners(box).map((p) => cross([ax, ay], [bx, by], p));
  return least(turns) < 0n && most(turns) > 0n;
}

// flaws: [{box: [x, y, w, h] in nm, kind, done: steps done when it was seen, or all: true}]; steps count from 0
function flawHits(sheet, flaws, done) {
  const { panels, cuts } = sheet.exact;
  const madeBy = (piece) => Math.floor((piece - 1) / 2);
  const [hit, crossed] = [new Set(), new Set()];
  for (const flaw of flaws) {
    const box = flaw.all ? null : big(flaw.box);
    for (const panel of panels) {
      const off = panel[1] > 0 && flaw.done.has(madeBy(panel[1]));
      if (!off && (flaw.all || coversFlaw(panel, box, flaw.kind))) hit.add(panel[0]);
    }
    cuts.forEach((line, i) => {
      if (!flaw.done.has(i) && (flaw.all || crossesFlaw(line, box))) crossed.add(i);
    });
  }
  return { panels: hit, cuts: crossed, held: heldSteps(sheet, hit, crossed, done) };
}

// cut i parts piece steps[i].piece into the pieces 2 i + 1 and 2 i + 2
function heldSteps(sheet, hit, crossed, done) {
  const good = new Map();
  const bad = new Map();
  for (const [panel, piece] of sheet.exact.panels) (hit.has(panel) ? bad : good).set(piece, true);
  const held = new Set();
  for (let i = sheet.steps.length - 1; i >= 0; i--) {
    const parts = [2 * i + 1, 2 * i + 2];
    let lives = parts.some((part) => good.get(part));
    const ails = crossed.has(i) || parts.some((part) => bad.get(part));
    if (!done.has(i) && (crossed.has(i) || (ails && !lives))) {
      held.add(i);
      lives = false;
    }
    const piece = sheet.steps[i].piece;
    if (lives) good.set(piece, true);
    if (ails) bad.set(piece, true);
  }
  const gone = new Set();
  sheet.steps.forEach((step, i) => {
    if (!held.has(i) && !gone.has(step.piece)) return;
    held.add(i);
    gone.add(2 * i + 1);
    gone.add(2 * i + 2);
  });
  for (const i of done) held.delete(i);
  return held;
}
