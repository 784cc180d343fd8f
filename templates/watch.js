"use strict";
const frame = document.querySelector("iframe");
const ended = document.getElementById("ended");
const faults = document.getElementById("faults");
let shown = null;

// What a reader has done to a page: opened, filtered, sorted, and where it is read.
const name = (node) => {
  const inside = node.closest("[id]");
  const words = (node.querySelector("summary") || node).textContent.trim().slice(0, 80);
  return (inside ? inside.id : "") + "|" + words;
};
const scrolls = "[tabindex='0'],.wide";
function state(page) {
  const all = (what) => Array.from(page.querySelectorAll(what));
  const inputs = all("input[id],select[id],textarea[id]");
  const top = all("[id]").filter((n) => n.offsetParent && n.getBoundingClientRect().top <= 8).pop();
  return {
    details: new Map(all("details").map((d) => [name(d), d.open])),
    inputs: inputs.map((i) => [i.id, i.type === "checkbox" || i.type === "radio" ? i.checked : i.value]),
    sorted: all("th[aria-sort]").map((th) => [name(th), th.getAttribute("aria-sort")]),
    moved: all(scrolls).map((n) => [n.scrollLeft, n.scrollTop]),
    at: top && [top.id, top.getBoundingClientRect().top],
    y: page.defaultView.scrollY,
  };
}
function restore(page, old) {
  const all = (what) => Array.from(page.querySelectorAll(what));
  all("details").forEach((d) => { if (old.details.has(name(d))) d.open = old.details.get(name(d)); });
  old.inputs.forEach(([id, value]) => {
    const input = page.getElementById(id);
    if (!input) return;
    const key = typeof value === "boolean" ? "checked" : "value";
    if (input[key] === value) return;
    input[key] = value;
    ["input", "change"].forEach((event) => input.dispatchEvent(new Event(event, { bubbles: true })));
  });
  old.sorted.forEach(([head, way]) => {
    const th = all("th").find((n) => name(n) === head);
    const button = th && th.querySelector("button");
    for (let i = 0; button && i < 2 && th.getAttribute("aria-sort") !== way; i += 1) button.click();
  });
  all(scrolls).forEach((n, i) => { if (old.moved[i]) [n.scrollLeft, n.scrollTop] = old.moved[i]; });
  const view = page.defaultView;
  const anchor = old.at && page.getElementById(old.at[0]);
  const y = anchor && anchor.offsetParent ? view.scrollY + anchor.getBoundingClientRect().top - old.at[1] : old.y;
  view.scrollTo({ top: y, behavior: "instant" });
}

function renew() {
  const old = state(frame.contentDocument);
  frame.addEventListener("load", () => restore(frame.contentDocument, old), { once: true });
  frame.contentWindow.location.reload();
}

async function ask() {
  try {
    const answer = await fetch("/version", { cache: "no-store" });
    if (!answer.ok) throw new Error(answer.statusText);
    const now = await answer.json();
    ended.hidden = true;
    faults.querySelector("pre").textContent = now.faults || "";
    faults.hidden = !now.faults;
    if (shown !== null && now.version !== shown) renew();
    shown = now.version;
  } catch {
    ended.hidden = false;
  }
  setTimeout(ask, 700);
}
if (frame) {
  frame.addEventListener("load", () => { document.title = frame.contentDocument.title; });
  ask();
}
