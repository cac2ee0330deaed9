// The list of sheets, finding a panel, and what is told of panels and offcuts.

// ------------------------------------------------------------ the list of sheets, and finding

function renderHome() {
  const done = doneNow();
  $("home-title").textContent = t("plan", { plan: DATA.plan });
  $("list").replaceChildren(
    ...DATA.sheets.map((sheet, i) => {
      const count = sheet.steps.length;
      const steps = stepsDone(sheet, done);
      const isCut = done.cut.has(sheet.number);
      let words = t("sheet_open");
      if (steps || place(sheet)) words = t("steps_done", { done: steps, count });
      if (done.flawed.has(sheet.number)) words = t("sheet_flawed");
      if (isCut) words = t("sheet_cut");
      const row = button("", () => openSheet(i), { class: `sheet-row${isCut ? " done" : ""}` });
      row.append(
        make("strong", {}, t("sheet", { number: sheet.number })),
        make("span", { class: "facts" }, [...sheet.facts, sheet.source].join(" · ")),
        make("span", { class: "state" }, words),
      );
      const bar = make("span", { class: "bar", "aria-hidden": "true" }, make("span"));
      bar.firstChild.style.width = `${isCut ? 100 : count ? (100 * steps) / count : 0}%`;
      row.append(bar);
      return make("li", {}, row);
    }),
  );
  renderFound();
}

function plain(text) {
  return text.normalize("NFKC").toLowerCase();
}

const searchable = DATA.panels.map((p) => plain(`${p[0]} ${p[1]} ${p[2]}`));

function renderFound() {
  const words = plain($("wanted").value).split(/\s+/).filter(Boolean);
  if (!words.length) {
    $("found").replaceChildren();
    return;
  }
  const hits = [];
  searchable.forEach((text, i) => {
    if (words.every((word) => text.includes(word))) hits.push(i);
  });
  const done = doneNow();
  let told = t("found_none");
  if (hits.length) told = t("found_some", { count: hits.length });
  if (hits.length > SHOWN) told = t("found_more", { count: hits.length, shown: SHOWN });
  $("found").replaceChildren(
    make("p", {}, told),
    make("ul", { class: "panel-list" }, ...hits.slice(0, SHOWN).map((i) => panelRow(i, done, true))),
  );
}

// a panel with what is known of it, a way to its step, and a way to say that it broke
function panelRow(i, done, withWay) {
  const [id, order, panel, size, sheetIndex, step, notes] = DATA.panels[i];
  const sheet = DATA.sheets[sheetIndex];
  const facts = [size, notes];
  if (done.broken.has(i)) facts.push(t("is_broken", { work: workWords(done.broken.get(i)) }));
  else if (withWay && isOff(i, done)) facts.push(t("is_off"));
  const row = make(
    "li", { class: done.broken.has(i) ? "is-broken" : "" },
    make("span", { class: "name" }, make("strong", {}, name(order)), " ", name(panel)),
    make("span", { class: "facts" }, facts.filter(Boolean).join(" · ")),
  );
  if (withWay) {
    const words = t(step ? "go_to" : "go_to_sheet", { number: sheet.number, step });
    row.append(button(words, () => openSheet(sheetIndex, step), { "aria-label": `${words}: ${id}` }));
  }
  if (!done.broken.has(i)) row.append(brokenButton(i));
  return row;
}

// ------------------------------------------------------------ broken, kept, undone

function workWords(work) {
  const found = DATA.at_steps.find((a) => a[0] === work);
  return found ? found[1] : work;
}

function brokenButton(i) {
  const [id] = DATA.panels[i];
  return button(t("broken"), () => askBroken(i), { class: "quiet", "aria-label": `${t("broken")} ${id}` });
}

function askBroken(i) {
  const [id, order, panel, , sheet] = DATA.panels[i];
  const dialog = $("ask");
  $("ask-title").textContent = t("broken_what", { what: `${order} ${panel}` });
  $("ask-words").textContent = t("broken_when");
  const answer = (work) => () => {
    dialog.close();
    happened("panel broken", { sheet: DATA.sheets[sheet].number, panel: id, at_step: work });
    tellLast();
  };
  $("ask-answers").replaceChildren(
    ...DATA.at_steps.map(([work, words]) => button(words, answer(work), { "data-work": work })),
    button(t("cancel"), () => dialog.close(), { class: "quiet" }),
  );
  dialog.showModal();
}

// a length of the page's unit in millimetres; NaN where it is none
function millimetres(text) {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" ? NaN : Math.round(value * (DATA.unit === "mm" ? 1 : 25.4) * 1e6) / 1e6;
}

// a flaw by its place, a real size that differs, or words alone: what is filled in must be whole
function askFlawed(index) {
  const sheet = DATA.sheets[index];
  const dialog = $("ask");
  $("ask-title").textContent = t("flawed_what", { number: sheet.number });
  $("ask-words").textContent = t("flawed_how", { unit: DATA.unit });
  const field = (key, inputmode) => make(
    "label", { class: "field" }, t(key), make("input", { id: `flaw-${key}`, inputmode, maxlength: 200, autocomplete: "off" }),
  );
  const flaw = ["flaw_left", "flaw_bottom", "flaw_wide", "flaw_high"];
  const size = ["size_wide", "size_high"];
  const read = (keys) => keys.map((key) => $(`flaw-${key}`).value);
  const told = (keys, least) => {
    const texts = read(keys);
    if (texts.every((text) => !text.trim())) return null;
    const values = texts.map(millimetres);
    const fine = values.every((v, i) => v >= least[i] && v <= 20000);
    return fine ? values : undefined;
  };
  const tell = () => {
    const where = told(flaw, [0, 0, 0.1, 0.1]);
    const real = told(size, [1, 1]);
    if (where === undefined || real === undefined) {
      $("ask-words").textContent = t("flawed_wrong", { unit: DATA.unit });
      return;
    }
    const note = $("flaw-flaw_note").value.trim();
    const more = { ...(where ? { flaw: where } : {}), ...(real ? { size: real } : {}), ...(note ? { note } : {}) };
    dialog.close();
    happened("sheet flawed", { sheet: sheet.number, ...more });
    tellLast();
  };
  $("ask-answers").replaceChildren(
    field("flaw_note", "text"),
    make("div", { class: "pair" }, ...flaw.map((key) => field(key, "decimal"))),
    make("div", { class: "pair" }, ...size.map((key) => field(key, "decimal"))),
    button(t("flawed_tell"), tell, { id: "flaw-tell" }),
    button(t("cancel"), () => dialog.close(), { class: "quiet" }),
  );
  dialog.showModal();
}

function markOffcut(i, isKept) {
  const [number, , sheet] = DATA.offcuts[i];
  const what = isKept ? "offcut kept" : "offcut thrown";
  happened(what, { sheet: DATA.sheets[sheet].number, offcut: number });
  tellLast();
}

function offcutRow(i, done) {
  const [number, size] = DATA.offcuts[i];
  const choice = (words, value) => button(words, () => markOffcut(i, value), {
    "aria-pressed": String(done.kept.get(i) === value), "aria-label": `${words}: ${number}`,
  });
  return make(
    "li", { class: "offcut-row" },
    make("span", { class: "name" }, t("offcut", { number })), make("span", { class: "facts" }, size),
    make("span", { class: "choice" }, choice(t("kept"), true), choice(t("thrown"), false)),
  );
}

function eventWords(event) {
  if (event.what === "sheet cut") return t("did_cut", { number: event.sheet });
  if (event.what === "panel broken") {
    return t("did_break", { panel: event.panel, work: workWords(event.at_step) });
  }
  if (event.what === "sheet flawed") return t("did_flaw", { number: event.sheet });
  if (event.what === "offcut kept") return t("did_keep", { number: event.offcut });
  if (event.what === "offcut thrown") return t("did_throw", { number: event.offcut });
  return event.what;
}

function tellLast() {
  refresh();
  const [last] = standing();
  if (last) say(eventWords(last));
}

function undoOne(event) {
  undo(event);
  refresh();
  say(t("undone", { what: eventWords(event) }));
}
