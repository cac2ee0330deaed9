// The list of sheets, finding a panel, and what is told of panels and offcuts.

// ------------------------------------------------------------ the list of sheets, and finding

function renderHome() {
  const done = doneNow();
  $("home-title").textContent = t("plan", { plan: DATA.plan });
  $("list").replaceChildren(
    ...DATA.sheets.map((sheet, i) => {
      const count = sheet.steps.length;
      const steps = doneSteps(sheet, done).size;
      const isCut = done.cut.has(sheet.number);
      let words = t("sheet_open");
      if (steps || place(sheet)) words = t("steps_done", { done: steps, count });
      if (done.flaws.has(sheet.number)) words = t(mustReplan(sheet, done) ? "sheet_flawed" : "sheet_marked");
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
  $("racks").replaceChildren(...rackNodes(done, true));
}

// ------------------------------------------------------------ racks

// racks of which some panels are off and some are not: name, slots filled, all slots, the next slot and its panel
function openRacks(done) {
  const open = [];
  for (const [rack, slots] of DATA.racks || []) {
    const left = slots.filter(([, panel]) => !isOff(panel, done));
    if (!left.length || left.length === slots.length) continue;
    const [slot, panel] = left.find(([, p]) => !done.broken.has(p)) || left[0];
    open.push({ rack, filled: slots.length - left.length, count: slots.length, slot, panel });
  }
  return open;
}

function rackNodes(done, withWay) {
  if (!DATA.racks) return [];
  const rows = openRacks(done).map(({ rack, filled, count, slot, panel }) => {
    const [id, order, panelName, , sheetIndex, step] = DATA.panels[panel];
    const sheet = DATA.sheets[sheetIndex];
    const row = make(
      "li", {},
      make("span", { class: "name" }, make("strong", {}, name(rack))),
      make("span", { class: "facts" }, t("rack_next", { slot }), ": ", name(`${order} ${panelName}`), " · ",
        t("rack_filled", { filled, count })),
    );
    if (heldBack(sheet, done).panels.has(panel)) row.append(make("strong", { class: "held-word" }, t("is_hit")));
    if (withWay) {
      const words = t(step ? "go_to" : "go_to_sheet", { number: sheet.number, step });
      row.append(button(words, () => openSheet(sheetIndex, step), { "aria-label": `${words}: ${id}` }));
    }
    return row;
  });
  return [
    make(withWay ? "h2" : "h3", {}, t("racks_open")),
    rows.length ? make("ul", { class: "panel-list" }, ...rows) : make("p", { class: "facts" }, t("racks_none")),
  ];
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
  const [id, order, panel, size, sheetIndex, step, notes, place] = DATA.panels[i];
  const sheet = DATA.sheets[sheetIndex];
  const facts = [size, place ? `→ ${place}` : "", notes];
  if (heldBack(sheet, done).panels.has(i)) facts.push(t("is_hit"));
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
  if (event.what === "sheet flawed") {
    if (!event.kind) return t("did_flaw", { number: event.sheet });
    return t("did_mark", { number: event.sheet, kind: kindWord(event.kind) });
  }
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
  if (event.what === "sheet flawed") letGo(event.sheet);
  refresh();
  say(t("undone", { what: eventWords(event) }));
}
