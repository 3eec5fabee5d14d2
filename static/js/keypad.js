/* Entry by one thumb: our own keys, the point that sets itself, on to the next station when a figure is plausible.
   Without this script the same form works with the phone's keyboard and its own button. The server judges every
   figure again; nothing here decides what is kept. */
(function () {
  "use strict";
  // A figure this far from what is wanted is not taken for finished; the server asks about it when it is sent.
  const PLAUSIBLE = 0.15;

  function wantedOf(row) {
    const wanted = parseFloat(row.dataset.wanted);
    return Number.isFinite(wanted) && wanted > 0 ? wanted : null;
  }

  // "441" becomes "4.41". A figure still short of its places keeps the point where the wanted width has it; a
  // full one has it where it comes nearest to what is wanted, so that 9.50 may be typed where 10.02 is wanted.
  function setPoint(typed, row, places) {
    const wanted = wantedOf(row);
    if (!/^\d+$/.test(typed) || places === null) return typed;
    if (wanted === null) return typed.length > places ? typed.slice(0, -places) + "." + typed.slice(-places) : typed;
    const whole = wanted < 1 ? 0 : String(Math.floor(wanted)).length;
    const spots = [whole];
    if (typed.length > places) spots.push(typed.length - places);
    let best = typed;
    let least = Infinity;
    spots.forEach(function (spot) {
      if (spot >= typed.length) return;
      const text = (typed.slice(0, spot) || "0") + "." + typed.slice(spot);
      const miss = Math.abs(parseFloat(text) - wanted);
      if (miss < least) { best = text; least = miss; }
    });
    return best;
  }

  function isFinished(text, row, places) {
    const wanted = wantedOf(row);
    const part = text.split(".")[1] || "";
    if (wanted === null || places === null || part.length < places) return false;
    return Math.abs(parseFloat(text) - wanted) <= PLAUSIBLE * wanted;
  }

  function start(form) {
    const pad = form.querySelector(".keypad");
    // A row whose figure is saved already has no field and is passed over.
    const FIELD = "input:not([type=hidden])";
    const rows = Array.from(form.querySelectorAll(".entry-row")).filter(function (row) { return row.querySelector(FIELD); });
    const inputs = rows.map(function (row) { return row.querySelector(FIELD); });
    if (!pad || inputs.length === 0) return;
    const places = form.dataset.places ? parseInt(form.dataset.places, 10) : null;
    const within = parseFloat(form.dataset.within || "0.03");
    pad.hidden = false;
    const shown = getComputedStyle(pad).display !== "none";
    const ownButton = form.querySelector(".entry-done");
    if (shown) {
      inputs.forEach(function (input) { input.inputMode = "none"; });
      if (ownButton) ownButton.hidden = true;
      form.querySelectorAll(".no-script").forEach(function (button) { button.hidden = true; });
    }
    rows.forEach(function (row) {
      const side = row.querySelector(".entry-side");
      if (side) row.askedSide = Array.from(side.cloneNode(true).childNodes);
    });
    let steppedTo = -1;
    let at = Math.max(0, inputs.findIndex(function (input) { return input.value === ""; }));

    function mark(number) {
      at = Math.min(Math.max(number, 0), inputs.length - 1);
      rows.forEach(function (row, n) {
        row.classList.toggle("current", n === at);
        if (n !== at) judge(n); else ask(n);
      });
      nameOnward();
    }

    // One key passes an empty station over and goes on from a figure: it is named for what it does now.
    const onward = pad.querySelector("[data-key=skip]");
    const skip = onward ? onward.textContent : "";
    function nameOnward() {
      if (onward) onward.textContent = inputs[at].value === "" || at === inputs.length - 1 ? skip : pad.dataset.next;
    }

    // The keys lie over the foot of the page: a row, with what is asked beneath it, has to stand clear of them.
    function reveal(row) {
      const box = row.getBoundingClientRect();
      const foot = shown ? pad.getBoundingClientRect().top : window.innerHeight;
      if (box.bottom > foot) window.scrollBy(0, Math.min(box.bottom - foot, box.top));
      else if (box.top < 0) window.scrollBy(0, box.top);
    }

    function go(number) {
      mark(number);
      inputs[at].focus({ preventScroll: true });
      reveal(rows[at]);
    }

    // A finished row says how far it is off instead of what was wanted.
    function judge(n) {
      const side = rows[n].querySelector(".entry-side");
      const wanted = wantedOf(rows[n]);
      const value = parseFloat(inputs[n].value.replace(",", "."));
      if (!side || wanted === null || !Number.isFinite(value) || !/^[\d.,]+$/.test(inputs[n].value)) return ask(n);
      const off = value - wanted;
      const amount = Math.abs(off).toFixed(places === null ? 2 : places);
      const word = document.createElement("span");
      if (form.dataset.more && Math.abs(off) >= within - 1e-9) {
        // A gap is over or short; wide and narrow, their signs and their colours are a plank's.
        word.className = "off off-gap";
        word.textContent = (off > 0 ? form.dataset.more : form.dataset.less) + " " + amount;
      } else if (Math.abs(off) < within - 1e-9) {
        word.className = "off off-within";
        word.textContent = pad.dataset.within + " " + (parseFloat(amount) === 0 ? amount.replace(/0$/, "1") : amount);
      } else {
        const shape = document.createElement("span");
        shape.setAttribute("aria-hidden", "true");
        shape.textContent = off > 0 ? "▲ " : "▼ ";
        word.className = off > 0 ? "off off-wide" : "off off-narrow";
        word.append(shape, (off > 0 ? pad.dataset.wide : pad.dataset.narrow) + " " + amount);
      }
      side.replaceChildren(word);
    }

    function ask(n) {
      const side = rows[n].querySelector(".entry-side");
      if (side && rows[n].askedSide) side.replaceChildren(...rows[n].askedSide.map(function (node) { return node.cloneNode(true); }));
    }

    // Whatever keeps drafts of the page listens to "input"; a key of ours must reach it like one of the phone's.
    let telling = false;
    function tell(input) {
      telling = true;
      input.dispatchEvent(new Event("input", { bubbles: true }));
      telling = false;
      nameOnward();
    }

    function changed(input, byHand) {
      const row = rows[at];
      const pointTyped = /[.,]/.test(input.value) && row.dataset.point === "typed";
      // The nought before a point was set by us, not typed.
      if (!pointTyped) input.value = setPoint(input.value.replace(/^0\./, "").replace(/\./g, ""), row, places);
      tell(input);
      if (byHand && isFinished(input.value.replace(",", "."), row, places)) {
        if (at < inputs.length - 1) { go(at + 1); steppedTo = at; } else mark(at);
      }
    }

    function press(key) {
      const input = inputs[at];
      const row = rows[at];
      // A figure that is not plausible, or has nothing to be held against, ends by this key; it is never lost by it.
      if (key === "skip") return go(at + 1);
      if (key === "again") {
        // Where a second take of a station is kept beside the first, the form has a button for it.
        const take = form.querySelector('button[name="again"][value="' + CSS.escape(input.name) + '"]');
        if (take && input.value !== "") return take.click();
        if (input.value === "" && at > 0) go(at - 1);
        inputs[at].value = "";
        delete rows[at].dataset.point;
        tell(inputs[at]);
        return go(at);
      }
      if (key === "rub-out") {
        input.value = input.value.slice(0, -1).replace(/\.$/, "");
        if (!input.value.includes(".")) delete row.dataset.point;
        return changed(input, false);
      }
      if (key === ".") {
        if (input.value.replace(/\./g, "") === "" || row.dataset.point === "typed") return;
        input.value = input.value.replace(/\./g, "") + ".";
        row.dataset.point = "typed";
        return nameOnward();
      }
      if (input.value.length < 9) input.value += key;
      changed(input, true);
    }

    // The field keeps the focus while a key is pressed, so that the row stays the one that is typed in.
    pad.addEventListener("pointerdown", function (event) {
      if (event.target.closest("[data-key]")) event.preventDefault();
    });
    pad.addEventListener("click", function (event) {
      const key = event.target.closest("[data-key]");
      if (!key) return;
      press(key.dataset.key);
      inputs[at].focus({ preventScroll: true });
    });
    inputs.forEach(function (input, n) {
      input.addEventListener("focus", function () { if (n !== at || !rows[n].classList.contains("current")) mark(n); });
      input.addEventListener("input", function (event) {
        if (telling) return;
        nameOnward();
        const typed = event.data || "";
        if (/[^\d]/.test(typed)) rows[n].dataset.point = "typed";
        if (input.value === "") delete rows[n].dataset.point;
        if (rows[n].dataset.point !== "typed") changed(input, /^\d$/.test(typed));
        else if (/^\d$/.test(typed) && isFinished(input.value.replace(",", "."), rows[n], places) && n < inputs.length - 1) { go(n + 1); steppedTo = at; }
      });
      input.addEventListener("keydown", function (event) {
        // A hand used to Tab or Enter presses it after every figure; the step on was made already, and a second would put
        // the next figure at the wrong station.
        const again = (event.key === "Tab" && !event.shiftKey) || event.key === "Enter";
        if (again && n === steppedTo && input.value === "") { event.preventDefault(); steppedTo = -1; return; }
        steppedTo = -1;
        if (event.key === "Enter" && n < inputs.length - 1) { event.preventDefault(); go(n + 1); }
        if (event.key === "ArrowDown" && n < inputs.length - 1) { event.preventDefault(); go(n + 1); }
        if (event.key === "ArrowUp" && n > 0) { event.preventDefault(); go(n - 1); }
      });
    });
    const refused = form.querySelector(".entry-row .err, .entry-row [aria-invalid=true]");
    if (refused) at = rows.indexOf(refused.closest(".entry-row"));
    // On the desk's bench the form waits beside other things until a hand comes to it (data-waits).
    if (form.hasAttribute("data-waits") && !refused) rows.forEach(function (row, n) { judge(n); });
    else go(at);
  }

  function startAll(root) {
    if (root.matches && root.matches("form[data-keypad]")) start(root);
    root.querySelectorAll("form[data-keypad]").forEach(start);
  }
  startAll(document);
  document.addEventListener("htmx:load", function (event) { if (event.detail.elt !== document.body) startAll(event.detail.elt); });
})();
