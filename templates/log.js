"use strict";
// Writing down what happens, on a phone beside the furnace. Every entry has its id from here and is
// kept on the phone until the shop's computer has said that it stands in the journal.

const view = document.getElementById("view");
const line = document.getElementById("line");
const pad = document.getElementById("pad");
let forms = null;
let version = null;
let away = false;
let unpaired = false;
// Seconds that the clock of the shop's computer is ahead.
let ahead = 0;
let done = [];

// Nodes.
function make(tag, given, ...inside) {
  const node = document.createElement(tag);
  Object.entries(given || {}).forEach(([key, value]) => {
    if (key in node) node[key] = value;
    else node.setAttribute(key, value);
  });
  node.append(...inside.filter((n) => n !== null && n !== undefined));
  return node;
}
const button = (words, does, given, ...more) =>
  make("button", { type: "button", onclick: does, ...given }, make("span", {}, words), ...more);
function show(title, ...nodes) {
  view.replaceChildren(make("h1", {}, title), ...nodes.filter(Boolean));
  scrollTo(0, 0);
  view.focus({ preventScroll: true });
}

// What is kept on the phone. Where a browser keeps nothing, it is held while the page is open.
const held = new Map();
let base = null;
const opened = new Promise((ready) => {
  try {
    const ask = indexedDB.open("pourwright", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore("kept");
    ask.onsuccess = () => { base = ask.result; ready(); };
    ask.onerror = () => ready();
  } catch { ready(); }
});
async function kept(mode, does) {
  await opened;
  if (!base) return does(null);
  return new Promise((ready, failed) => {
    const work = base.transaction("kept", mode, { durability: "strict" });
    const asked = does(work.objectStore("kept"));
    work.oncomplete = () => ready(asked && asked.result);
    work.onerror = work.onabort = () => failed(work.error);
  });
}
const put = (key, value) => kept("readwrite", (s) => (s ? s.put(value, key) : held.set(key, value)));
const drop = (key) => kept("readwrite", (s) => (s ? s.delete(key) : held.delete(key)));
const get = (key) => kept("readonly", (s) => (s ? s.get(key) : { result: held.get(key) })).then((v) => (base ? v : v && v.result));
async function entries() {
  const all = await kept("readonly", (s) => (s ? s.getAll(IDBKeyRange.bound("e-", "e-\uffff")) : null));
  const list = base ? all : Array.from(held).filter(([key]) => key.startsWith("e-")).map(([, value]) => value);
  return list.sort((a, b) => a.made - b.made || (a.id < b.id ? -1 : 1));
}

// The line to the shop's computer.
async function ask(path, body, seconds) {
  const cut = new AbortController();
  const timer = setTimeout(() => cut.abort(), seconds * 1000);
  try {
    const json = body && typeof body !== "string";
    const answer = await fetch(path, {
      cache: "no-store",
      signal: cut.signal,
      ...(body && { method: "POST", body: json ? JSON.stringify(body) : body }),
      ...(json && { headers: { "Content-Type": "application/json" } }),
    });
    const text = await answer.text();
    away = false;
    unpaired = answer.status === 401;
    return { status: answer.status, text };
  } catch (fault) {
    away = true;
    throw fault;
  } finally {
    clearTimeout(timer);
    tell();
  }
}
const sendable = (e) => ({ id: e.id, at: e.at, event: e.event, said: e.said, says: e.says, photo: e.photo });

async function tell() {
  const all = await entries();
  const waiting = all.filter((e) => !e.why).length;
  const words = [away ? "No line" : unpaired ? "Not paired" : "In touch"];
  if (waiting) words.push(waiting + " kept on this phone, to be sent");
  if (all.length > waiting) words.push(all.length - waiting + " refused");
  if (!base) words.push("this browser keeps nothing: leave the page open");
  line.textContent = words.join("; ");
  line.classList.toggle("away", away || unpaired || all.length > waiting || !base);
}

// Sends what is kept, one after the other; the same entry sent again is written once.
let sending = null;
function send() {
  sending = sending || sendAll().finally(() => { sending = null; });
  return sending;
}
async function sendAll() {
  for (const entry of await entries()) {
    if (entry.why) continue;
    let came;
    try { came = await ask("/log/write", sendable(entry), 90); } catch { return; }
    if (came.status === 200) {
      await drop("e-" + entry.id);
      const notes = entry.told ? JSON.parse(came.text).notes.filter((n) => !entry.told.includes(n)) : JSON.parse(came.text).notes;
      done = [{ title: entry.title, at: entry.at, notes }, ...done].slice(0, 12);
      await put("done", done);
    } else if ([413, 415, 422].includes(came.status)) {
      await put("e-" + entry.id, { ...entry, why: came.text });
    } else {
      return;
    }
  }
  tell();
  if (view.dataset.at === "home") home();
}

async function look() {
  try {
    const now = await ask("/version", null, 10);
    if (now.status === 401) { if (view.dataset.at === "home") pairing(); return; }
    const told = JSON.parse(now.text);
    const faults = document.getElementById("faults");
    faults.hidden = !told.faults;
    faults.textContent = told.faults ? "The build has faults: nothing can be written down until they are corrected. What you enter is kept here.\n\n" + told.faults : "";
    if (told.forms !== version || !forms) await fresh();
    await send();
  } catch {}
}
async function fresh() {
  const came = await ask("/log/forms", null, 20);
  if (came.status !== 200) return;
  const told = JSON.parse(came.text);
  forms = told.forms;
  version = told.version;
  const off = Math.round((new Date(told.now) - new Date()) / 1000);
  ahead = Math.abs(off) > 60 ? off : 0;
  await put("forms", { forms, ahead });
  if (view.dataset.at === "home") home();
}

// Views.
function go(at) {
  if (at !== "home" && view.dataset.at === "home") history.pushState(at, "");
  view.dataset.at = at;
}
addEventListener("popstate", () => { if (pad.open) pad.close(); home(); });

async function home() {
  go("home");
  if (unpaired && !forms) return pairing();
  if (!forms) return show("Write down", make("p", {}, "Waiting for the shop's computer."));
  document.getElementById("machine").textContent = forms.title;
  const all = await entries();
  if (view.dataset.at !== "home") return;
  const item = (node) => make("li", {}, node);
  const open = (form) => item(button(form.title, () => fill(form), { className: "next" }, form.says && make("small", {}, form.says)));
  const waiting = all.map((e) => item(button(e.title, () => look_at(e), {}, make("small", { className: e.why ? "care" : "" }, e.why ? "refused: look" : "not sent yet"))));
  const said = (d) => item(make("div", {}, d.title, make("small", {}, d.at), ...d.notes.map((n) => make("p", { className: "care" }, n))));
  show(
    "What happened?",
    unpaired && button("Pair this phone", pairing, { className: "go" }),
    make("ul", { id: "next" }, ...forms.likely.map(open)),
    waiting.length > 0 && make("h2", {}, "On this phone"),
    waiting.length > 0 && make("ul", { id: "waiting" }, ...waiting),
    make("h2", {}, "Anything else"),
    make("ul", {}, ...forms.kinds.map((kind) => item(button(kind.title, () => choose(kind))))),
    done.length > 0 && make("h2", {}, "Written down from here"),
    done.length > 0 && make("ul", { id: "done" }, ...done.map(said)),
  );
}

function choose(kind) {
  go("choose");
  if (kind.says) return show(kind.title, make("p", { className: "care" }, kind.says), back());
  if (kind.forms.length === 1) return fill(kind.forms[0]);
  const rows = kind.forms.map((form) => make("li", {}, button(form.title, () => fill(form))));
  const sift = make("input", { type: "search", ariaLabel: "Find", placeholder: "Find" });
  sift.oninput = () => rows.forEach((row) => { row.hidden = !row.textContent.toLowerCase().includes(sift.value.toLowerCase()); });
  show(kind.title, kind.asks && make("p", {}, kind.asks), rows.length > 8 && make("p", {}, sift), make("ul", {}, ...rows), back());
}
const back = () => make("div", { className: "two" }, button("Back", () => history.back(), { className: "plain" }));

function pairing(says) {
  go("pair");
  const code = make("input", { type: "text", id: "code", autocomplete: "off", autocapitalize: "characters", ariaLabel: "Code" });
  const pair = async () => {
    try {
      const came = await ask("/pair", code.value || " ", 20);
      if (came.status !== 200) return pairing(came.text);
      view.dataset.at = "home";
      await look();
      home();
    } catch { pairing("No line to the shop's computer."); }
  };
  show("Pair this phone", make("p", {}, "Type the code that the terminal shows, or scan its square code."),
    typeof says === "string" && make("p", { className: "care", role: "alert" }, says), make("p", {}, code), button("Pair", pair, { className: "go" }));
  if (location.hash.length > 1) {
    code.value = location.hash.slice(1);
    history.replaceState(null, "", location.pathname);
    pair();
  }
}

// The number pad.
function number(label, units, given) {
  const [value, unit] = (given || "").split(" ");
  let chosen = units.includes(unit) ? unit : units[0];
  const field = make("input", { type: "text", inputMode: "none", ariaLabel: label, value: value || "", autocomplete: "off" });
  const choices = units.filter(Boolean).map((u) => button(u, () => pick(u), { ariaLabel: label + " in " + u }));
  const pick = (u) => {
    chosen = u;
    choices.forEach((c) => c.setAttribute("aria-pressed", String(c.textContent === u)));
  };
  pick(chosen);
  field.onclick = () => {
    const shown = make("output", {}, field.value + " " + chosen);
    const press = (key) => {
      if (key === "⌫") field.value = field.value.slice(0, -1);
      else if (key !== "." || !field.value.includes(".")) field.value += key;
      shown.textContent = field.value + " " + chosen;
    };
    const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "⌫"];
    const more = choices.map((c) => button(c.textContent, () => { pick(c.textContent); press(""); same(); }, { className: "plain" }));
    const same = () => more.forEach((m, i) => m.setAttribute("aria-pressed", choices[i].getAttribute("aria-pressed")));
    same();
    pad.replaceChildren(make("strong", {}, label), shown, make("div", { className: "units" }, ...more),
      make("div", { className: "keys" }, ...keys.map((key) => button(key, () => press(key), { ariaLabel: key === "⌫" ? "Take back" : key }))),
      button("Good", () => pad.close(), { className: "go", id: "good" }));
    pad.showModal();
  };
  const get = () => {
    const text = field.value.trim().replace(",", ".");
    return text ? (text + " " + chosen).trim() : "";
  };
  return { node: make("div", { className: "row" }, field, make("div", { className: "units" }, ...choices)), get };
}

function stepper(label, from, least) {
  const shown = make("input", { type: "text", inputMode: "numeric", ariaLabel: label, value: String(from) });
  const by = (n) => { shown.value = String(Math.max(least, (parseInt(shown.value, 10) || 0) + n)); };
  const node = make("div", { className: "step" }, button("−", () => by(-1), { ariaLabel: "one less: " + label }), shown, button("+", () => by(1), { ariaLabel: "one more: " + label }));
  return { node, get: () => shown.value.trim() };
}

function ticks(options, chosen) {
  const picked = chosen.slice();
  const rows = options.map(([value, shown]) => {
    const box = make("input", { type: "checkbox", checked: picked.includes(value) });
    box.onchange = () => {
      if (box.checked) picked.push(value);
      else picked.splice(picked.indexOf(value), 1);
    };
    return make("li", {}, make("label", { className: "box" }, box, shown));
  });
  return { node: make("ul", {}, ...rows), get: () => picked };
}

// A question: its node, and what was answered under its option.
function question(field, given) {
  const old = given[field.option];
  const is = inputs[field.input](field, old);
  const legend = make("legend", { className: field.needed ? "needed" : "" }, field.asks.replace("{}", "each"));
  return { ...field, ...is, node: make("fieldset", { name: field.option }, legend, is.node) };
}
const inputs = {
  words(field, old) {
    const text = make("input", { type: "text", ariaLabel: field.asks, value: old ? old[0] || "" : field.proposed || "" });
    return { node: text, get: () => [text.value.trim()].filter(Boolean) };
  },
  count(field, old) {
    const is = stepper(field.asks, old ? old[0] : field.proposed, 1);
    return { node: is.node, get: () => [is.get()].filter(Boolean) };
  },
  size(field, old) {
    const is = number(field.asks, field.units, old && old[0]);
    return { node: is.node, get: () => [is.get()].filter(Boolean) };
  },
  one(field, old) {
    const chosen = old ? old[0] : (field.options[field.first] || [])[0];
    if (field.options.length > 6) {
      const list = make("select", { ariaLabel: field.asks }, ...field.options.map(([value, shown]) => make("option", { value, selected: value === chosen }, shown)));
      return { node: list, get: () => [list.value].filter(Boolean) };
    }
    const boxes = field.options.map(([value, shown]) => {
      const box = make("input", { type: "radio", name: "one-" + field.option, value, checked: value === chosen });
      return make("li", {}, make("label", { className: "box" }, box, shown));
    });
    const node = make("ul", {}, ...boxes);
    return { node, get: () => [(node.querySelector(":checked") || {}).value].filter(Boolean) };
  },
  some(field, old) {
    return ticks(field.options, old || field.ticked.map((i) => field.options[i][0]));
  },
  each(field, old) {
    const was = new Map((old || []).map((pair) => pair.split("=")));
    const rows = field.each.map(([name, many]) => [name, stepper(name, old ? was.get(name) || 0 : many, 0)]);
    const node = make("div", {}, ...rows.map(([name, step]) => make("div", { className: "row" }, make("span", {}, name), step.node)));
    return { node, get: () => rows.filter(([, step]) => Number(step.get()) !== 0).map(([name, step]) => name + "=" + step.get()) };
  },
  sizes(field, old) {
    const rows = [];
    const node = make("div", {});
    const add = (name, given) => {
      const of = make("input", { type: "text", ariaLabel: "Name", placeholder: "name", value: name });
      const size = number(name || "Size", field.units, given);
      rows.push([of, size]);
      node.insertBefore(make("div", {}, make("p", {}, of), size.node), more);
    };
    const more = button("Another", () => add("", ""), { className: "plain" });
    node.append(more);
    if (old) old.forEach((pair) => add(...pair.split("=")));
    else (field.names.length ? field.names : [""]).forEach((name) => add(name, ""));
    return { node, get: () => rows.map(([of, size]) => [of.value.trim(), size.get()]).filter(([of, size]) => of && size).map((pair) => pair.join("=")) };
  },
  blemishes(field, old) {
    const was = new Map((old || []).map((pair) => [pair.split("=")[0], pair.split("=").slice(1).join("=")]));
    const where = new Map(field.options.map(([code, shown]) => [code, make("input", { type: "text", placeholder: "where", ariaLabel: "Where: " + shown, value: was.get(code) || "" })]));
    const list = ticks(field.options, Array.from(was.keys()));
    const places = make("div", {});
    const more = field.fields.map((f) => question(f, {}));
    const rest = make("div", {}, ...more.map((q) => q.node));
    const renew = () => {
      places.replaceChildren(...list.get().map((code) => make("p", {}, code, where.get(code))));
      rest.hidden = list.get().length === 0;
    };
    list.node.addEventListener("change", renew);
    renew();
    const get = () => list.get().map((code) => (where.get(code).value.trim() ? code + "=" + where.get(code).value.trim() : code));
    const also = () => (list.get().length ? more.map((q) => [q.option, q.get()]) : []);
    return { node: make("div", {}, list.node, places, rest), get, also };
  },
};

// A picture, made small enough to send.
async function picture(file) {
  const drawn = await createImageBitmap(file, { imageOrientation: "from-image" });
  const scale = Math.min(1, 1600 / Math.max(drawn.width, drawn.height));
  const sheet = make("canvas", { width: Math.round(drawn.width * scale), height: Math.round(drawn.height * scale) });
  sheet.getContext("2d").drawImage(drawn, 0, 0, sheet.width, sheet.height);
  return sheet.toDataURL("image/jpeg", 0.8).split(",")[1];
}

const two = (n) => String(n).padStart(2, "0");
function stamp(time) {
  return time.getFullYear() + "-" + two(time.getMonth() + 1) + "-" + two(time.getDate()) + " " + two(time.getHours()) + ":" + two(time.getMinutes());
}
function new_id(at) {
  const signs = "abcdefghjkmnpqrstuvwxyz23456789";
  const drawn = crypto.getRandomValues(new Uint32Array(12));
  return at.replace(/-/g, "").replace(" ", "-").replace(":", "") + "-" + Array.from(drawn, (n) => signs[n % signs.length]).join("");
}

// The questions of one entry; `old` is one that is to be changed.
function fill(form, old) {
  go("fill");
  const now = stamp(new Date(Date.now() + ahead * 1000));
  const at = make("input", { type: "datetime-local", ariaLabel: "When?", value: (old ? old.at : now).replace(" ", "T") });
  const asked = form.fields.map((field) => question(field, old ? old.said : {}));
  const words = make("input", { type: "text", ariaLabel: "More of it, in your words", value: old ? old.says : "" });
  const file = make("input", { type: "file", accept: "image/*", capture: "environment" });
  const shown = make("p", {});
  let photo = old ? old.photo : "";
  file.onchange = async () => {
    if (!file.files[0]) return;
    try {
      photo = await picture(file.files[0]);
      shown.replaceChildren(make("img", { alt: "The picture", src: URL.createObjectURL(file.files[0]) }));
    } catch { shown.textContent = "This picture cannot be read."; photo = ""; }
  };
  // Nothing was found on what is accepted.
  const becomes = asked.find((q) => q.option === "disposition");
  const found = asked.find((q) => q.input === "blemishes");
  const judge = () => { if (found) found.node.hidden = becomes && becomes.get()[0] === "accept"; };
  if (becomes) becomes.node.addEventListener("change", judge);
  judge();
  const gather = () => {
    const said = {};
    Object.entries(form.said).forEach(([option, value]) => { said[option] = [value]; });
    asked.filter((q) => !q.node.hidden).forEach((q) => {
      [[q.option, q.get()], ...(q.also ? q.also() : [])].forEach(([option, values]) => { if (values.length) said[option] = values; });
    });
    const time = at.value.replace("T", " ").slice(0, 16);
    return { id: old ? old.id : new_id(time), at: time, event: form.event, said, says: words.value.trim(), photo, title: form.title + (said.words ? ": " + said.words[0] : ""), form, made: old ? old.made : Date.now() };
  };
  const says = make("p", { className: "care", role: "alert", hidden: true });
  const next = async () => {
    const missing = asked.find((q) => q.needed && q.get().length === 0);
    says.hidden = !missing;
    if (missing) {
      says.textContent = "Needed: " + missing.asks;
      missing.node.scrollIntoView({ block: "center" });
      return;
    }
    await check(gather());
  };
  const field = (asks, ...nodes) => make("fieldset", {}, make("legend", {}, asks), ...nodes);
  show(form.title, form.says && make("p", { className: "care" }, form.says),
    ...asked.map((q) => q.node),
    form.more && field("More of it, in your words", words),
    form.more && field("A picture", make("label", { className: "file" }, file, "Take a picture"), shown),
    field("When?", at), says,
    make("div", { className: "two" }, button("Back", () => history.back(), { className: "plain" }), button("Check", next, { className: "go", id: "check" })));
}

// What will stand in the journal, and what is odd about it, before it is written.
async function check(entry) {
  let came = null;
  try { came = await ask("/log/check", sendable(entry), 30); } catch {}
  go("check");
  const sound = came && came.status === 200 ? JSON.parse(came.text) : null;
  const refused = came && came.status === 422;
  const keep = async () => {
    try {
      await put("e-" + entry.id, { ...entry, told: sound ? sound.notes : null, why: "" });
    } catch (fault) {
      return show("Not kept", make("p", { className: "care", role: "alert" }, "This phone has no room to keep it: " + fault.message), button("Try again", keep, { className: "go" }));
    }
    await tell();
    history.back();
    send();
  };
  const change = button("Change", () => fill(entry.form, entry), { className: "plain" });
  if (refused) {
    return show("This cannot be", make("p", { className: "care", role: "alert" }, came.text), make("div", { className: "two" }, change));
  }
  show(
    entry.title,
    sound ? make("pre", {}, sound.entry) : make("p", { className: "care", role: "alert" }, "It cannot be checked now. It is kept on this phone, sent and checked when the line is back."),
    ...(sound ? sound.notes.map((n) => make("p", { className: "care" }, n)) : []),
    make("div", { className: "two" }, change, button(sound ? "Write it down" : "Keep it", keep, { className: "go", id: "write" })),
  );
}

// An entry that is still here.
function look_at(entry) {
  go("look");
  const rid = async () => { await drop("e-" + entry.id); await tell(); history.back(); };
  const sure = () => show("Throw it away?", make("p", {}, entry.title + ", " + entry.at + ": it is stored only on this phone."), make("div", { className: "two" }, button("Keep it", () => history.back(), { className: "plain" }), button("Throw away", rid, { className: "go" })));
  show(entry.title, make("p", {}, entry.at), entry.why && make("p", { className: "care" }, entry.why),
    make("div", { className: "two" }, button("Change", () => fill(entry.form, entry), { className: "plain" }), button("Throw away", sure, { className: "plain" })),
    make("div", { className: "two" }, button("Back", () => history.back(), { className: "plain" }), button("Send now", async () => { await put("e-" + entry.id, { ...entry, why: "" }); history.back(); send(); }, { className: "go" })));
}

addEventListener("online", look);
(async () => {
  await opened;
  const old = await get("forms");
  if (old) { forms = old.forms; ahead = old.ahead; }
  done = (await get("done")) || [];
  if (location.hash.length > 1) pairing();
  else home();
  for (;;) {
    await look();
    await new Promise((ready) => setTimeout(ready, 2500));
  }
})();
