/* The waiting list: what is sent from the bench is written down on this phone first and leaves it only when the log has
   said its id back. A form opts in by data-keep, what it is called in the list. Without this script, or where the browser
   keeps nothing, the same form is sent as any other. */
(function (reckoner) {
  "use strict";
  const EVERY_MS = 15000;
  const REFUSALS = 3;
  // How long a hand waits at Done before it is told that the item is kept; the sending goes on behind it.
  const PATIENCE_MS = 6000;
  const SEND_MS = 45000;
  // A photograph has the longer the larger it is: as if no line were slower than 50 kB a second.
  const PHOTO_MS = 60000;
  const PHOTO_BYTES_A_MS = 50;
  // Tries that broke though the log itself could be reached, before a hand is asked.
  const FAILURES = 5;
  const words = document.getElementById("waiting") || document.createElement("p");
  const owner = words.dataset.account || "";
  let flushing = null;
  let again = false;

  function say(text) {
    const area = document.getElementById("message");
    if (!area || !text) return;
    const line = document.createElement("p");
    line.textContent = text;
    area.replaceChildren(line);
    line.scrollIntoView({ block: "nearest" });
  }

  // Only one sends at a time on this phone where the browser can see to that; elsewhere the log keeps each once.
  function alone(work) {
    return navigator.locks ? navigator.locks.request("reckoner-waiting", work) : work();
  }

  // What another tab wrote from the same draft is an item of its own; the same words again, or the answer to what was
  // asked, are the item that waits.
  function isSame(kept, item) {
    return Boolean(kept.needs) || (kept.url === item.url && JSON.stringify(kept.fields) === JSON.stringify(item.fields));
  }

  async function keep(item) {
    const kept = (await reckoner.all("waiting")).find(function (one) { return one.id === item.id; });
    const row = Object.assign({ owner: owner, madeAt: Date.now(), tries: 0, fails: 0, needs: "", why: "", photo: null }, item);
    if (kept && isSame(kept, row)) row.n = kept.n;
    else if (kept) row.id = reckoner.newId();
    row.n = await reckoner.put("waiting", row);
    count();
    return row;
  }

  async function fetchFor(milliseconds, url, options) {
    const stop = new AbortController();
    const timer = setTimeout(function () { stop.abort(); }, milliseconds);
    try {
      return await fetch(url, Object.assign({ credentials: "same-origin", cache: "no-store", redirect: "error", signal: stop.signal }, options));
    } finally { clearTimeout(timer); }
  }

  async function json(answer) {
    try { return await answer.json(); } catch { return {}; }
  }

  // Who is signed in, and a fresh token: both may be others than when the item was written down.
  async function here() {
    const answer = await fetchFor(15000, "/here/", { headers: { Accept: "application/json" } });
    const body = await json(answer);
    if (answer.status === 401) {
      await closePackets().catch(function () { /* nothing was kept */ });
      return { closed: true };
    }
    return answer.ok && body.account && body.token ? body : null;
  }

  // After a lapsed sign-in a work packet opens without what was typed, until its owner is here again.
  async function closePackets() {
    for (const one of await reckoner.all("packets")) await reckoner.put("packets", Object.assign(one, { closed: true }));
  }

  // A work packet is one person's: whoever else is signed in leaves none of it here.
  async function keepOwnPackets() {
    for (const one of await reckoner.all("packets")) {
      if (one.owner !== owner) await reckoner.drop("packets", one.key);
      else if (one.closed) await reckoner.put("packets", Object.assign(one, { closed: false }));
    }
  }

  function bodyOf(item) {
    const data = new FormData();
    item.fields.forEach(function (pair) { data.append(pair[0], pair[1]); });
    if (item.photo) data.append(item.photo.field, new Blob([item.photo.bytes], { type: item.photo.type }), item.photo.name);
    return data;
  }

  // Returns what became of one item: done, refused, closed, barred, full, unreached, failed, or later.
  async function post(item, token) {
    let answer, body;
    try {
      answer = await fetchFor(item.photo ? PHOTO_MS + item.photo.bytes.byteLength / PHOTO_BYTES_A_MS : SEND_MS, item.url, {
        method: "POST", body: bodyOf(item),
        headers: {
          Accept: "application/json", "X-CSRFToken": token, "X-Waiting-Item": item.id,
          "X-Waited": String(Math.max(0, Math.round((Date.now() - item.madeAt) / 1000))),
        },
      });
      body = await json(answer);
    } catch { return { what: "unreached" }; }
    // A café's sign-in page answers 200 as well; only the log knows the id.
    const echoed = body.client_uuid === item.id;
    if (echoed && (answer.status === 200 || answer.status === 201)) return { what: "done", body: body };
    if (answer.status === 401) return { what: "closed" };
    // A role that was taken away may be given again; the item stays, and the next one may be for another build.
    if (answer.status === 403) return { what: "barred", sentence: echoed ? body.sentence : "" };
    if (answer.status === 507) return { what: "full", sentence: words.dataset.full };
    if (echoed && answer.status >= 400 && answer.status < 500 && answer.status !== 429) {
      return { what: "refused", body: body, sentence: body.sentence || words.dataset.refused };
    }
    return { what: answer.status >= 400 && answer.status !== 429 ? "failed" : "later" };
  }

  async function settle(item, result) {
    if (result.what === "done") {
      // Written anew meanwhile (a question answered in another tab): that is another item, and has yet to be sent.
      const now = await reckoner.get("waiting", item.n);
      return now && now.madeAt === item.madeAt ? reckoner.drop("waiting", item.n) : null;
    }
    if (result.what === "refused") {
      item.tries += 1;
      item.why = result.sentence;
      if (item.tries >= REFUSALS) item.needs = result.sentence;
    } else if (result.what === "failed") {
      item.fails = (item.fails || 0) + 1;
      item.why = words.dataset.failing;
      if (item.fails >= FAILURES) item.needs = words.dataset.failed;
    } else if (result.sentence) item.why = result.sentence;
    else return null;
    // Another tab may have sent it meanwhile; what is gone must not come back.
    if (await reckoner.get("waiting", item.n)) return reckoner.put("waiting", item);
    return null;
  }

  // The log has taken an item of this id with other content, from another tab: this one goes under an id of its own.
  async function postAnew(item, token) {
    item.id = reckoner.newId();
    if (!await reckoner.get("waiting", item.n)) return { what: "later" };
    await reckoner.put("waiting", item);
    return post(item, token);
  }

  // Whether it was the signal that went, or this item alone that does not get through: the log itself is asked.
  async function whoIsStillHere() {
    try { return await here(); } catch { return null; }
  }

  // Words and figures before photographs, which take long; an item that fails holds up none behind it.
  async function sendAll(results) {
    const mine = (await reckoner.all("waiting")).filter(function (item) { return !item.needs; })
      .sort(function (one, other) { return Boolean(one.photo) - Boolean(other.photo) || one.n - other.n; });
    if (mine.length === 0) return;
    let who = await whoIsStillHere();
    if (!who || who.closed) { results.set("*", { what: who ? "closed" : "later" }); return; }
    for (const seen of mine) {
      if (seen.owner !== who.account) continue;
      const item = await reckoner.get("waiting", seen.n);
      if (!item) continue;
      let result = await post(item, who.token);
      if (result.what === "refused" && result.body.taken) result = await postAnew(item, who.token);
      if (result.what === "unreached") {
        results.set(seen.id, result);
        const still = await whoIsStillHere();
        if (!still || still.closed) return;
        who = still;
        if (item.photo) result = { what: "failed" };
      }
      await settle(item, result);
      results.set(seen.id, result);
      count();
    }
  }

  function flush() {
    if (flushing) { again = true; return flushing; }
    const results = new Map();
    flushing = alone(function () { return sendAll(results); }).catch(function () { /* the list is as it was */ }).then(function () {
      flushing = null;
      count();
      document.dispatchEvent(new CustomEvent("reckoner:flushed", { detail: results }));
      if (again) { again = false; flush(); }
      return results;
    });
    return flushing;
  }

  async function count() {
    let items = [];
    try { items = await reckoner.all("waiting"); } catch { return; }
    if (items.length && !owner) document.querySelectorAll("[data-kept-words]").forEach(function (line) { line.textContent = line.dataset.keptWords; });
    const mine = items.filter(function (item) { return item.owner === owner; });
    const needs = mine.filter(function (item) { return item.needs; }).length;
    const text = items.length === 1 ? words.dataset.one : (words.dataset.many || "").replace("{n}", items.length);
    words.hidden = items.length === 0;
    const link = words.querySelector("a");
    if (link) link.textContent = text + (needs ? " " + words.dataset.needs : "");
    // The browser takes a page on plain http away with the signal; the list itself stays.
    document.querySelectorAll("[data-keep-open]").forEach(function (line) { line.hidden = "serviceWorker" in navigator; });
    document.querySelectorAll("[data-waiting]").forEach(function (place) {
      if (!place.dataset.none) place.dataset.none = place.textContent;
      if (!items.length) { place.textContent = place.dataset.none; return; }
      const figure = document.createElement("a");
      figure.className = "waiting";
      figure.href = "/waiting/";
      figure.textContent = items.length;
      place.replaceChildren(figure);
    });
    document.dispatchEvent(new CustomEvent("reckoner:counted", { detail: items }));
  }

  function fieldsOf(form, submitter) {
    const pairs = [];
    new FormData(form).forEach(function (value, name) {
      if (typeof value === "string" && name !== "csrfmiddlewaretoken") pairs.push([name, value]);
    });
    if (submitter && submitter.name) pairs.push([submitter.name, submitter.value]);
    return pairs;
  }

  function isFull(problem) { return Boolean(problem) && (problem.name === "QuotaExceededError" || /quota/i.test(problem.message || "")); }

  function within(milliseconds, promise) {
    return Promise.race([promise, new Promise(function (resolve) { setTimeout(function () { resolve(null); }, milliseconds); })]);
  }

  // Sends what waits until this item has been tried, since a flush may have begun before it was written down.
  async function tryNow(id) {
    for (let round = 0; round < 2; round += 1) {
      const results = await flush();
      if (results.has(id)) return results.get(id);
      if (results.has("*")) return results.get("*");
    }
    return null;
  }

  async function submitted(form, submitter) {
    const url = new URL((submitter && submitter.getAttribute("formaction")) || form.getAttribute("action") || location.href, location.href).pathname;
    const draft = reckoner.draftOf ? await reckoner.draftOf(form) : null;
    let item;
    try {
      item = await keep({ id: (draft && draft.id) || form.dataset.itemId || reckoner.newId(), url: url, page: location.pathname + location.search, title: form.dataset.keep, fields: fieldsOf(form, submitter) });
    } catch (problem) {
      if (isFull(problem)) say(words.dataset.phoneFull);
      return sendPlain(form, submitter);
    }
    form.dataset.itemId = item.id;
    if (draft && draft.id !== item.id) await reckoner.put("drafts", Object.assign(draft, { id: item.id })).catch(function () { /* no room: the page still holds it */ });
    const result = await within(PATIENCE_MS, tryNow(item.id));
    if (result && result.what === "refused") {
      // The page itself asks best; the item keeps the figures until the question is answered.
      if (await reckoner.get("waiting", item.n)) await reckoner.put("waiting", Object.assign(item, { needs: result.sentence, why: result.sentence }));
      count();
      return sendPlain(form, submitter);
    }
    if (reckoner.forgetDraft) await reckoner.forgetDraft(form);
    delete form.dataset.itemId;
    if (result && result.what === "done") return goOn(form, result.body);
    if (result && result.what === "closed") {
      location.assign("/sign-in/?next=" + encodeURIComponent(location.pathname + location.search));
      return null;
    }
    return keptHere(form, item);
  }

  // A form sent as if this script were not there: the answer is the page.
  function sendPlain(form, submitter) {
    form.dataset.plain = "yes";
    if (form.requestSubmit) form.requestSubmit(submitter && submitter.form === form ? submitter : undefined);
    else form.submit();
    delete form.dataset.plain;
  }

  function goOn(form, body) {
    const next = body.next || location.pathname;
    const target = form.getAttribute("hx-target");
    // Only what the log calls a part of this page takes the form's place; any other answer is a page of its own.
    if (!body.in_place || !target || !window.htmx) return location.assign(next);
    return htmx.ajax("GET", next, { target: target, swap: "outerHTML" }).catch(function () { /* seen below */ }).then(function () {
      if (form.isConnected) return location.assign(next);
      // Both places are marked as htmx marks its own, so that a step back or forward draws the page of its address anew.
      history.replaceState({ htmx: true }, "", location.href);
      history.pushState({ htmx: true }, "", next);
    });
  }

  // Done answers at once, with or without a signal.
  function keptHere(form, item) {
    const note = document.createElement("section");
    const head = document.createElement(form.querySelector("h1") ? "h1" : "h2");
    const line = document.createElement("p");
    const links = document.createElement("p");
    note.className = "stack narrow";
    note.tabIndex = -1;
    note.dataset.keptHere = "";
    head.textContent = words.dataset.kept;
    line.textContent = item.title + ". " + words.dataset.later;
    line.className = "lead";
    line.setAttribute("role", "status");
    links.className = "links";
    [["/offline/", words.dataset.next], ["/waiting/", words.dataset.list]].forEach(function (pair) {
      const link = document.createElement("a");
      link.href = pair[0];
      link.textContent = pair[1];
      if (pair[0] !== "/offline/" || "serviceWorker" in navigator) links.append(link);
    });
    note.append(head, line, links);
    if (offlineEntry && reckoner.mountOffline) {
      const place = offlineEntry.cloneNode(false);
      const open = document.createElement("p");
      open.className = "note";
      open.textContent = words.dataset.holdOpen;
      note.append(open, place);
      reckoner.mountOffline(place);
    }
    form.replaceWith(note);
    note.focus();
    document.dispatchEvent(new CustomEvent("reckoner:kept", { detail: { note: note, item: item } }));
    count();
  }

  // On plain http no page can be opened without a signal: the entry of the next strakes is fetched while there is one, and
  // stands beneath what was kept.
  let offlineEntry = null;
  async function bringOfflineEntry() {
    const answer = await fetchFor(15000, "/offline/", {});
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    document.body.append(...page.querySelectorAll("template"));
    ["keypad.js", "offline.js"].forEach(function (name) {
      const file = page.querySelector('script[src*="' + name.replace(".js", "") + '"]').getAttribute("src");
      if (document.querySelector('script[src="' + file + '"]')) return;
      const script = document.createElement("script");
      script.src = file;
      document.head.append(script);
    });
    offlineEntry = page.querySelector("[data-offline-strakes]");
  }

  // In the capture phase, so that it comes before htmx's own listener on the form.
  document.addEventListener("submit", function (event) {
    const form = event.target;
    const submitter = event.submitter;
    if (!owner || !window.indexedDB || !form.matches("form[data-keep]") || form.dataset.plain) return;
    if (submitter && submitter.hasAttribute("formaction") && submitter.getAttribute("formaction") !== form.getAttribute("action")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    if (form.dataset.busy) return;
    // Photographs go before the words, each by itself (photo_note.js).
    if (form.hasAttribute("data-photo-note")) {
      form.dispatchEvent(new CustomEvent("reckoner:files", { detail: { goOn: function () { start(form, submitter); } } }));
    } else start(form, submitter);
  }, true);

  function start(form, submitter) {
    form.dataset.busy = "yes";
    submitted(form, submitter).catch(function () { sendPlain(form, submitter); }).finally(function () { delete form.dataset.busy; });
  }

  // What a page shows in its place is remembered no longer than the one who signed in stays.
  document.addEventListener("submit", function (event) {
    const form = event.target;
    if (form.getAttribute("action") !== "/sign-out/" || form.dataset.wiped || !window.indexedDB) return;
    event.preventDefault();
    form.dataset.wiped = "yes";
    reckoner.all("packets").then(function (rows) {
      return Promise.all(rows.map(function (row) { return reckoner.drop("packets", row.key); }));
    }).catch(function () { /* nothing was kept */ }).then(function () { form.submit(); });
  });

  Object.assign(reckoner, { keep: keep, here: here, flush: flush, tryNow: tryNow, count: count, say: say, isFull: isFull, words: words.dataset, owner: owner, keptHere: keptHere });
  count();
  if (owner && window.indexedDB) keepOwnPackets().catch(function () { /* nothing was kept */ });
  if (!window.indexedDB || (!owner && !document.querySelector("[data-offline-strakes]"))) return;
  if (owner && "serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(function () { /* the page works without */ });
  if (owner && !("serviceWorker" in navigator) && document.querySelector("form[data-keep]")) {
    bringOfflineEntry().then(function () { document.documentElement.dataset.offlineEntry = "here"; }).catch(function () { /* no signal */ });
  }
  flush();
  window.addEventListener("online", flush);
  document.addEventListener("visibilitychange", function () { if (document.visibilityState === "visible") flush(); });
  setInterval(flush, EVERY_MS);
})(window.reckoner);
