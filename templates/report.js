"use strict";
(function () {
  const id = (name) => document.getElementById(name);
  // Parts: sort by a column, sift by words, standing and alloy.
  const table = id("parts-table");
  if (table) {
    const body = table.tBodies[0];
    const rows = Array.from(body.rows);
    const text = (row, at) => row.cells[at].textContent.trim();
    const value = (row, at) => {
      const said = text(row, at).replace(/\u00a0/g, " ");
      const found = /^(-?[\d.]+) ?(kg|g|lb|oz)?/.exec(said);
      if (!found) return null;
      const per = { kg: 1, g: 0.001, lb: 0.4536, oz: 0.02835 };
      return parseFloat(found[1]) * (per[found[2]] || 1);
    };
    const heads = Array.from(table.tHead.rows[0].cells);
    heads.forEach((head, at) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      const numeric = head.classList.contains("num");
      button.addEventListener("click", () => {
        const down = head.getAttribute("aria-sort") === "ascending";
        heads.forEach((h) => h.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const sorted = rows.slice().sort((a, b) => {
          if (!numeric) return text(a, at).localeCompare(text(b, at));
          const [x, y] = [value(a, at), value(b, at)];
          if (x === null || y === null) return (x === null) - (y === null);
          return down ? y - x : x - y;
        });
        if (down && !numeric) sorted.reverse();
        body.append(...sorted);
      });
    });
    const sift = () => {
      const words = id("sift-words").value.toLowerCase().split(/\s+/).filter(Boolean);
      const standing = id("sift-standing").value;
      const alloy = id("sift-alloy").value;
      let seen = 0;
      rows.forEach((row) => {
        const all = row.textContent.toLowerCase();
        const fits =
          words.every((w) => all.includes(w)) &&
          (!standing || text(row, 2) === standing) &&
          (!alloy || text(row, 1) === alloy);
        row.hidden = !fits;
        seen += fits ? 1 : 0;
      });
      id("sift-count").textContent = seen + " of " + rows.length + " parts";
    };
    ["sift-words", "sift-standing", "sift-alloy"].forEach((n) => id(n).addEventListener("input", sift));
    id("sift").hidden = false;
    // A link to a part that is sifted away shows all again.
    addEventListener("hashchange", () => {
      const row = id(location.hash.slice(1));
      if (row && row.hidden) {
        ["sift-words", "sift-standing", "sift-alloy"].forEach((n) => { id(n).value = ""; });
        sift();
        row.scrollIntoView();
      }
    });
  }
  // A link into a casting opens it.
  const open = () => {
    const inside = location.hash.length > 1 && id(location.hash.slice(1));
    const details = inside && inside.closest("details");
    if (details) details.open = true;
  };
  addEventListener("hashchange", open);
  open();
  // The drawing: zoom and move by keys, wheel with Ctrl, buttons and fingers.
  const sheet = id("drawn");
  const svg = sheet && sheet.querySelector("svg");
  if (!svg) return;
  const [wide, high] = [svg.viewBox.baseVal.width, svg.viewBox.baseVal.height];
  let zoom = 0;
  const show = (to, x, y) => {
    const box = sheet.getBoundingClientRect();
    const old = svg.getBoundingClientRect().width / wide;
    const [cx, cy] = [x === undefined ? box.width / 2 : x - box.left, y === undefined ? box.height / 2 : y - box.top];
    const [px, py] = [(sheet.scrollLeft + cx) / old, (sheet.scrollTop + cy) / old];
    zoom = to && Math.min(4, Math.max(0.2, to));
    sheet.classList.toggle("moving", zoom !== 0);
    svg.style.minWidth = zoom ? "0" : "";
    svg.style.width = zoom ? wide * zoom + "px" : "";
    svg.style.height = zoom ? high * zoom + "px" : "";
    if (zoom) sheet.scrollTo(px * zoom - cx, py * zoom - cy);
  };
  const by = (factor, x, y) => show(factor && (zoom || svg.getBoundingClientRect().width / wide) * factor, x, y);
  id("zoom").hidden = false;
  // Part by part: what the drawing says of one, in words from the table.
  const boxes = Array.from(svg.querySelectorAll("a.box"));
  let at = -1;
  const stand = (to) => {
    if (at >= 0) boxes[at].classList.remove("here");
    at = (to + boxes.length) % boxes.length;
    boxes[at].classList.add("here");
    const row = id(boxes[at].getAttribute("href").slice(1));
    const waits = row.cells[row.cells.length - 1].textContent;
    const link = document.createElement("a");
    link.href = boxes[at].getAttribute("href");
    link.textContent = boxes[at].querySelector("title").textContent;
    id("walk-says").replaceChildren(link, waits ? ". Waits for " + waits + "." : ". Waits for no other part.");
  };
  id("walk").hidden = false;
  id("walk").addEventListener("click", (event) => {
    const by = Number(event.target.dataset.walk);
    if (by) stand(at < 0 ? (by > 0 ? 0 : boxes.length - 1) : at + by);
  });
  id("zoom").addEventListener("click", (event) => {
    const factor = event.target.dataset.zoom;
    if (factor !== undefined) by(Number(factor));
  });
  sheet.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const factor = { "+": 1.25, "=": 1.25, "-": 0.8, "0": 0 }[event.key];
    const move = { ArrowLeft: [-60, 0], ArrowRight: [60, 0], ArrowUp: [0, -60], ArrowDown: [0, 60] }[event.key];
    if (factor === undefined && !(move && zoom)) return;
    event.preventDefault();
    if (factor !== undefined) by(factor);
    else sheet.scrollBy(move[0], move[1]);
  });
  sheet.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    by(event.deltaY < 0 ? 1.1 : 1 / 1.1, event.clientX, event.clientY);
  }, { passive: false });
  const fingers = new Map();
  const apart = () => {
    const [a, b] = Array.from(fingers.values());
    return { d: Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY), x: (a.clientX + b.clientX) / 2, y: (a.clientY + b.clientY) / 2 };
  };
  let last = null;
  sheet.addEventListener("pointerdown", (event) => {
    fingers.set(event.pointerId, event);
    last = fingers.size === 2 ? apart() : null;
  });
  sheet.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    fingers.set(event.pointerId, event);
    if (fingers.size === 2) {
      const now = apart();
      if (last && last.d > 0) by(now.d / last.d, now.x, now.y);
      last = now;
    } else if (zoom && fingers.size === 1) {
      sheet.scrollBy(before.clientX - event.clientX, before.clientY - event.clientY);
    }
  });
  ["pointerup", "pointercancel", "pointerleave"].forEach((name) =>
    sheet.addEventListener(name, (event) => { fingers.delete(event.pointerId); last = null; }));
  sheet.addEventListener("touchstart", (event) => {
    if (event.touches.length === 2) event.preventDefault();
  }, { passive: false });
})();
