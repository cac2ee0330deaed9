// Flaws that are found at the table: marking one on the sheet in hand, and what is held back until it is planned anew.

const NM = 1e6;
let marking = null;

function kindWord(kind) {
  const found = DATA.kinds.find((k) => k[0] === kind);
  return found ? found[1] : kind;
}

// ------------------------------------------------------------ what is held back

function flawOf(event) {
  const [before = 0, ...odd] = state.seen[event.id] || [];
  const done = { has: (i) => (i < before) !== odd.includes(i) };
  const box = Array.isArray(event.flaw) ? event.flaw.map((v) => Math.round(v * NM)) : null;
  // a wrong size, or words alone: nothing can be cut as planned
  return { box, kind: event.kind || "", all: !box || Boolean(event.size), done, id: event.id };
}

// panels that are hit, cuts that cross a flaw, steps that are not made before the sheet is planned anew
function heldBack(sheet, done, more = []) {
  const flaws = [...(done.flaws.get(sheet.number) || []).map(flawOf), ...more];
  if (!flaws.length || done.cut.has(sheet.number)) {
    return { panels: new Set(), cuts: new Set(), held: new Set(), flaws, all: false };
  }
  const found = flawHits(sheet, flaws, doneSteps(sheet, done));
  return { ...found, flaws, all: flaws.some((flaw) => flaw.all) };
}

function mustReplan(sheet, done) {
  if (done.cut.has(sheet.number)) return false;
  const { panels, cuts, all } = heldBack(sheet, done);
  return all || panels.size > 0 || cuts.size > 0;
}

// panels that can still be cut as planned
function stillToCut(sheet, done, back) {
  const steps = doneSteps(sheet, done);
  return sheet.panels.filter((p) => {
    const step = DATA.panels[p][5];
    return !back.panels.has(p) && !steps.has(step - 1) && !back.held.has(step - 1) && (step > 0 || !back.all);
  });
}

// once a flaw is taken back, what was passed over comes first again
function letGo(number) {
  const sheet = DATA.sheets.find((s) => s.number === number);
  if (!sheet) return;
  const done = doneNow();
  const steps = doneSteps(sheet, done);
  const { held } = heldBack(sheet, done);
  const first = [...sheet.steps.keys()].find((i) => !steps.has(i) && !held.has(i));
  if (first === undefined || first >= cards(sheet)[place(sheet)].before) return;
  setPlace(sheet, cards(sheet).findIndex((c) => c.before === first && c.kind !== "start"), steps);
  keep();
}

// whether the walk jumps over a card: held back, or done out of turn
function passedOver(sheet, card, steps, held) {
  const stands = (i) => held.has(i) || steps.has(i);
  if (card.kind === "step") return stands(card.before);
  if (card.kind !== "placement") return false;
  const own = sheet.steps.flatMap((s, i) => (s.placement === card.step.placement ? [i] : []));
  return own.every(stands);
}

function names(panels) {
  const shown = panels.slice(0, 6).map((p) => `${DATA.panels[p][1]} ${DATA.panels[p][2]}`);
  if (panels.length > shown.length) shown.push(t("more", { count: panels.length - shown.length }));
  return shown.join(", ");
}

// what flaws do to a sheet, in a few lines: what is hit, what is held back, what can still be cut
function heldLinesOf(sheet, done, back) {
  const lines = [];
  const told = (key, words) => lines.push(make("li", { "data-say": true }, t(key, { what: words })));
  if (back.all) lines.push(make("li", { "data-say": true }, t("hits_all")));
  else {
    if (back.panels.size) told("hits_panels", names([...back.panels].sort((a, b) => a - b)));
    if (back.cuts.size) told("hits_cuts", [...back.cuts].sort((a, b) => a - b).map((i) => i + 1).join(", "));
  }
  if (!lines.length) return [make("li", { class: "harmless", "data-say": true }, t("hits_nothing"))];
  if (back.held.size && !back.all) told("hits_held", [...back.held].sort((a, b) => a - b).map((i) => i + 1).join(", "));
  const rest = stillToCut(sheet, done, back);
  if (rest.length) told("can_cut", names(rest));
  else lines.push(make("li", { "data-say": true }, t("can_cut_none")));
  return lines;
}

// stands on every card of a sheet that has to be planned anew
function heldNotice(sheet, done, whole) {
  const back = heldBack(sheet, done);
  if (!back.all && !back.panels.size && !back.cuts.size) return "";
  const notice = make("div", { class: "warning", id: "held" }, make("p", { "data-say": true }, t(back.all ? "is_flawed" : "is_held")));
  if (!whole) return notice;
  notice.append(make("ul", { class: "hits" }, ...heldLinesOf(sheet, done, back)));
  const told = countedDone(sheet, done, back);
  if (told.length) {
    notice.append(make(
      "p", { id: "tell-steps", "data-say": true }, t("tell_steps"), " ",
      make("code", {}, `--half-cut ${sheet.number}=${inRanges(told)}`),
    ));
  }
  return notice;
}

// numbers of the steps that are done, and of those that are scored: a placement is scored whole before its first
// break, but for what a flaw known by then holds back
function countedDone(sheet, done, back) {
  const steps = doneSteps(sheet, done);
  const counted = (step, i) => {
    if (steps.has(i)) return true;
    if (step.placement === undefined) return false;
    const begun = (some) => sheet.steps.some((s, k) => s.placement === step.placement && some.has(k));
    if (!begun(steps)) return false;
    const early = back.flaws.filter((flaw) => !begun(flaw.done));
    return !early.length || !flawHits(sheet, early, steps).held.has(i);
  };
  return sheet.steps.flatMap((step, i) => (counted(step, i) ? [i + 1] : []));
}

// rising numbers as in 1-12,14
function inRanges(numbers) {
  const ranges = [];
  for (const n of numbers) {
    const last = ranges[ranges.length - 1];
    if (last && last[1] === n - 1) last[1] = n;
    else ranges.push([n, n]);
  }
  // one number alone would mean all up to it
  const words = ranges.map(([a, b]) => (a === b && ranges.length > 1 ? String(a) : `${a}-${b}`));
  return words.join(",");
}

function knownFlaws(sheet) {
  const rows = (sheet.flaws || []).map(([words, spot]) => make(
    "li", {}, words, spot ? make("span", { class: "facts" }, ` (${t("flaw_tolerated")})`) : "",
  ));
  if (!rows.length) return "";
  return make("div", { class: "known" }, make("h3", {}, t("flaws_known")), make("ul", { class: "pockets" }, ...rows));
}

// ------------------------------------------------------------ marking

// a length of the page's unit in millimetres; NaN where it is none
function millimetres(text) {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" ? NaN : Math.round(value * (DATA.unit === "mm" ? 1 : 25.4) * 1e6) / 1e6;
}

const PLACE = ["flaw_left", "flaw_bottom", "flaw_wide", "flaw_high"];
const SIZE = ["size_wide", "size_high"];
const field = (key) => $(`flaw-${key}`);

// all values of some fields in millimetres; null where all are empty, undefined where they are not filled in wholly
function told(keys, least) {
  const texts = keys.map((key) => field(key).value);
  if (texts.every((text) => !text.trim())) return null;
  const values = texts.map(millimetres);
  return values.every((v, i) => v >= least[i] && v <= 20000) ? values : undefined;
}

function sheetSize(sheet) {
  const [, , w, h] = outlineBox(sheet.pieces[0]);
  return [w / 10, h / 10];
}

function startMarking() {
  marking = { sheet: sheetAt, kind: "", anchor: null };
  renderWork.said = -1;
  renderWork();
  $("card").scrollTop = 0;
  $("drawing").focus({ preventScroll: true });
}

function stopMarking() {
  marking = null;
  document.body.classList.remove("marking");
  $("drawing").removeAttribute("tabindex");
  $("drawing").setAttribute("role", "img");
  $("drawing").removeAttribute("aria-describedby");
  refresh();
}

function markCard(sheet, card, done, body) {
  document.body.classList.add("marking");
  $("drawing").setAttribute("tabindex", "0");
  $("drawing").setAttribute("role", "application");
  $("drawing").setAttribute("aria-describedby", "flaw-how");
  if (!$("flaw-tell")) {
    const input = (key, inputmode) => {
      const node = make("input", { id: `flaw-${key}`, inputmode, maxlength: 200, autocomplete: "off" });
      node.addEventListener("input", renderMark);
      return make("label", { class: "field" }, t(key), node);
    };
    const kinds = DATA.kinds.filter(([kind]) => kind).map(([kind, words]) => button(words, () => chooseKind(kind), {
      "data-kind": kind, "aria-pressed": "false",
    }));
    body.replaceChildren(
      make("p", { id: "flaw-how", class: "how" }, t("mark_how"), " ", make("span", { class: "by-keys" }, t("mark_keys"))),
      make("ul", { id: "flaw-hits", class: "hits", "aria-live": "polite" }),
      make("div", { id: "flaw-kinds", role: "group", "aria-label": t("flaw_kind") }, ...kinds),
      make("div", { class: "pair four" }, ...PLACE.map((key) => input(key, "decimal"))),
      make("p", { class: "how" }, t("mark_unit", { unit: DATA.unit })),
      input("flaw_note", "text"),
      make("details", {}, make("summary", {}, t("flaw_size")), make("div", { class: "pair" },
        ...SIZE.map((key) => input(key, "decimal")))),
      make("p", { id: "flaw-wrong", class: "warning", role: "alert", hidden: true }),
      make("div", { class: "pair bar-below" }, button(t("cancel"), stopMarking, { id: "flaw-cancel" }),
        button(t("flawed_tell"), tellFlaw, { id: "flaw-tell", class: "strong" })),
    );
  }
  renderMark();
  return t("mark_title", { number: sheet.number });
}

function chooseKind(kind) {
  marking.kind = marking.kind === kind ? "" : kind;
  for (const node of document.querySelectorAll("#flaw-kinds button")) {
    node.setAttribute("aria-pressed", String(node.dataset.kind === marking.kind));
  }
  renderMark();
}

// what is marked by now, ready to be held against the sheet
function markedFlaw(sheet, done) {
  const box = told(PLACE, [0, 0, 0.1, 0.1]);
  const size = told(SIZE, [1, 1]);
  if (!box && !size) return null;
  const steps = doneSteps(sheet, done);
  return { box: box && box.map((v) => Math.round(v * NM)), kind: marking.kind, all: Boolean(size), done: steps };
}

function renderMark() {
  const sheet = DATA.sheets[marking.sheet];
  const done = doneNow();
  const flaw = markedFlaw(sheet, done);
  const back = heldBack(sheet, done, flaw ? [flaw] : []);
  $("flaw-wrong").hidden = true;
  $("flaw-hits").replaceChildren(...(flaw ? heldLinesOf(sheet, done, back) : []));
  $("flaw-hits").classList.toggle("bad", Boolean(flaw) && (back.all || back.panels.size + back.cuts.size > 0));
  renderOverlay(sheet, cards(sheet)[place(sheet)], flaw);
}

function tellFlaw() {
  const sheet = DATA.sheets[marking.sheet];
  const done = doneNow();
  const where = told(PLACE, [0, 0, 0.1, 0.1]);
  const real = told(SIZE, [1, 1]);
  const note = field("flaw_note").value.trim();
  const inside = !where || where.every((v, i) => i > 1 || v + where[i + 2] <= sheetSize(sheet)[i] + 0.05);
  if (where === undefined || real === undefined || !inside || !(where || real || note)) {
    $("flaw-wrong").textContent = t(inside ? "flawed_wrong" : "flawed_beyond", { unit: DATA.unit });
    $("flaw-wrong").hidden = false;
    $("flaw-wrong").scrollIntoView({ block: "nearest" });
    return;
  }
  const steps = doneSteps(sheet, done);
  const before = cards(sheet)[place(sheet)].before;
  const id = happened("sheet flawed", {
    sheet: sheet.number, ...(where ? { flaw: where } : {}), ...(marking.kind && where ? { kind: marking.kind } : {}),
    ...(real ? { size: real } : {}), ...(note ? { note } : {}), ...(steps.size ? { begun: true } : {}),
  });
  state.seen[id] = [before, ...[...sheet.steps.keys()].filter((i) => (i < before) !== steps.has(i))];
  keep();
  stopMarking();
  jumpOn(sheet);
  tellLast();
}

// on to the next card that is not held back
function jumpOn(sheet) {
  const done = doneNow();
  const { held } = heldBack(sheet, done);
  const steps = doneSteps(sheet, done);
  const list = cards(sheet);
  let at = place(sheet);
  while (at < list.length - 1 && passedOver(sheet, list[at], steps, held)) at += 1;
  setPlace(sheet, at, steps);
  keep();
}

// ------------------------------------------------------------ on the drawing, by finger, mouse or keys

// a mark is at least so wide, in millimetres: a fingertip hits no closer
function leastMark() {
  return Math.max(10, Math.round((drawing.pixel() * 8) / 10));
}

function pointOf(event) {
  const svg = $("drawing");
  const matrix = svg.getScreenCTM();
  if (!matrix) return null;
  const p = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
  const [w, h] = sheetSize(DATA.sheets[marking.sheet]);
  return [Math.min(Math.max(p.x / 10, 0), w), Math.min(Math.max(-p.y / 10, 0), h)];
}

// writes a mark that spans two points into the fields, in whole millimetres or hundredths of an inch
function setMark(a, b, least = leastMark()) {
  const limits = sheetSize(DATA.sheets[marking.sheet]);
  const step = DATA.unit === "mm" ? 1 : 0.254;
  const [low, long] = [[], []];
  for (const i of [0, 1]) {
    let [from, to] = [Math.min(a[i], b[i]), Math.max(a[i], b[i])];
    if (to - from < least) [from, to] = [(from + to - least) / 2, (from + to + least) / 2];
    from = Math.max(0, Math.floor(from / step));
    const end = Math.min(Math.floor(limits[i] / step), Math.ceil(to / step));
    low.push(Math.min(from, end - 1));
    long.push(Math.max(1, end - Math.min(from, end - 1)));
  }
  const text = (v) => (DATA.unit === "mm" ? String(v) : (v / 100).toFixed(2)).replace(".", DATA.decimal);
  [...low, ...long].forEach((v, i) => {
    field(PLACE[i]).value = text(v);
  });
  renderMark();
}

function markDown(event) {
  if (!marking || event.button > 0) return;
  event.preventDefault();
  const at = pointOf(event);
  if (!at) return;
  $("drawing").setPointerCapture(event.pointerId);
  marking.drag = at;
  // the second tap is the corner across from the first one
  if (marking.anchor) setMark(marking.anchor, at);
  else setMark(at, at);
}

function markMove(event) {
  if (!marking || !marking.drag) return;
  const at = pointOf(event);
  if (at) setMark(marking.anchor || marking.drag, at);
}

function markUp(event) {
  if (!marking || !marking.drag) return;
  const at = pointOf(event) || marking.drag;
  const moved = Math.max(Math.abs(at[0] - marking.drag[0]), Math.abs(at[1] - marking.drag[1])) > leastMark() / 2;
  marking.anchor = marking.anchor || moved ? null : marking.drag;
  marking.drag = null;
}

// arrows move the mark, with Shift they make it larger or smaller; a first one sets it down in the piece in hand
function markKey(event) {
  if (!marking) return;
  if (event.key === "Escape") {
    stopMarking();
    return;
  }
  const ways = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
  const way = ways[event.key];
  if (!way || event.target !== $("drawing")) return;
  event.preventDefault();
  const now = told(PLACE, [0, 0, 0.1, 0.1]);
  if (!now) {
    const [x, y, w, h] = drawing.box;
    setMark([(x + w / 2) / 10, -(y + h / 2) / 10], [(x + w / 2) / 10, -(y + h / 2) / 10]);
    return;
  }
  const by = DATA.unit === "mm" ? 5 : 6.35;
  const [x, y, w, h] = now;
  marking.anchor = null;
  if (event.shiftKey) setMark([x, y], [x + Math.max(w + way[0] * by, 1), y + Math.max(h + way[1] * by, 1)], 1);
  else {
    const [wide, high] = sheetSize(DATA.sheets[marking.sheet]);
    const [left, low] = [Math.min(Math.max(x + way[0] * by, 0), wide - w), Math.min(Math.max(y + way[1] * by, 0), high - h)];
    setMark([left, low], [left + w, low + h], 1);
  }
}
