// What all views need: words, elements, the cards of a sheet, the head of the page.

const $ = (id) => document.getElementById(id);
const SHOWN = 60;

function t(key, values = {}) {
  return DATA.texts[key].replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
}

function make(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key === "class") node.className = value;
    else if (key === "onclick") node.addEventListener("click", value);
    else if (value !== null && value !== false) node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children.filter((child) => child !== null && child !== ""));
  return node;
}

function button(words, onclick, properties = {}) {
  return make("button", { type: "button", onclick, ...properties }, words);
}

// names of orders may run from right to left
function name(text) {
  return make("bdi", {}, text);
}

function kilograms(grams) {
  return t("kg", { kg: (Math.ceil(grams / 100) / 10).toFixed(1).replace(".", DATA.decimal) });
}

const drawing = new Drawing($("drawing"));
let view = "home";
let sheetAt = -1;

// ------------------------------------------------------------ the cards of a sheet

const cardsOf = new Map();

function cards(sheet) {
  if (!cardsOf.has(sheet)) {
    const list = [{ kind: "start", before: 0 }];
    sheet.steps.forEach((step, i) => {
      if (step.first) list.push({ kind: "placement", placement: sheet.placements[step.placement], step, before: i });
      list.push({ kind: "step", step, before: i });
    });
    list.push({ kind: "end", before: sheet.steps.length });
    cardsOf.set(sheet, list);
  }
  return cardsOf.get(sheet);
}

function place(sheet) {
  const at = state.places[sheet.number];
  const list = cards(sheet);
  if (Number.isInteger(at)) return Math.min(Math.max(at, 0), list.length - 1);
  if (!sheet.begun) return 0;
  // a sheet that was half cut when the plan was made
  const next = list.findIndex((card) => card.kind === "step" && card.before >= sheet.begun);
  return next < 0 ? list.length - 1 : next;
}

// indexes of the steps that are done: all before the place, but for those that were passed over
function doneSteps(sheet, done) {
  if (done.cut.has(sheet.number)) return new Set(sheet.steps.keys());
  const before = cards(sheet)[place(sheet)].before;
  const odd = new Set(state.odd[sheet.number] || []);
  return new Set([...sheet.steps.keys()].filter((i) => (i < before) !== odd.has(i)));
}

// the place, where these steps are done
function setPlace(sheet, at, steps) {
  const before = cards(sheet)[at].before;
  state.places[sheet.number] = at;
  const odd = [...sheet.steps.keys()].filter((i) => (i < before) !== steps.has(i));
  if (odd.length) state.odd[sheet.number] = odd;
  else delete state.odd[sheet.number];
}

function isOff(panel, done) {
  const [, , , , at, step] = DATA.panels[panel];
  const sheet = DATA.sheets[at];
  return done.cut.has(sheet.number) || (step > 0 && doneSteps(sheet, done).has(step - 1));
}

// ------------------------------------------------------------ what stands on every view

function renderTop() {
  const done = doneNow();
  let panels = 0;
  let cullet = 0;
  for (const sheet of DATA.sheets) {
    const steps = doneSteps(sheet, done);
    if (done.cut.has(sheet.number)) panels += sheet.panels.length;
    else for (const p of sheet.panels) panels += steps.has(DATA.panels[p][5] - 1) ? 1 : 0;
    for (const i of steps) cullet += sheet.steps[i].cullet;
  }
  const tally = {
    tally_panels: t("of", { done: panels, count: DATA.panels.length }),
    tally_sheets: t("of", { done: done.cut.size, count: DATA.sheets.length }),
    tally_cullet: kilograms(cullet),
    tally_broken: String(done.broken.size),
  };
  for (const [key, value] of Object.entries(tally)) {
    const told = $(key).lastChild;
    if (told.textContent !== value) told.textContent = value;
  }
  const waits = unsaved();
  $("to-record").classList.toggle("waits", waits);
  const record = waits ? t("record_unsaved") : t("record");
  if ($("to-record").textContent !== record) $("to-record").textContent = record;
  const lines = [];
  if (!storageWorks) lines.push(t("no_storage"));
  else if (storageFull) lines.push(t("storage_full"));
  const standing = DATA.warnings.filter((_, i) => view === "home" || i < DATA.standing);
  const told = [...lines, ...standing];
  if (told.join("\n") === renderTop.told) return;
  renderTop.told = told.join("\n");
  $("warnings").replaceChildren(...told.map((line) => make("p", { class: "warning" }, line)));
}

// what stands above the walk may take several lines: the walk has the rest of the screen
function measureTop() {
  if (view === "work") document.documentElement.style.setProperty("--top", `${$("work").offsetTop}px`);
}

function show(wanted, focus = true) {
  if (marking && wanted !== "work") {
    marking = null;
    document.body.classList.remove("marking");
  }
  view = wanted;
  for (const id of ["home", "work", "record"]) $(id).hidden = id !== wanted;
  document.body.dataset.view = wanted;
  $("to-home").setAttribute("aria-current", wanted === "home" ? "page" : "false");
  $("to-record").setAttribute("aria-current", wanted === "record" ? "page" : "false");
  if (wanted === "home") renderHome();
  if (wanted === "work") renderWork();
  if (wanted === "record") renderRecord();
  renderTop();
  measureTop();
  if (wanted === "record" || wanted === "home") {
    state.open = wanted === "home" ? -1 : state.open;
    keep();
  }
  if (focus) {
    $(`${wanted}-title`).focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }
}

function refresh() {
  show(view, false);
}

function say(words) {
  $("said").textContent = words;
}
