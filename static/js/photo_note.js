/* Photographs go one by one, so that each is kept as soon as it has arrived and the page can say how far it is.
   Without this script the form sends them all at once, and the server names those it refuses. */
(function () {
  "use strict";
  function start(form) {
    const input = form.querySelector("input[type=file]");
    const picked = form.querySelector("[data-picked]");
    const progress = form.querySelector("[data-progress]");
    const button = form.querySelector("[data-send]") || form.querySelector("button.go");
    let waits = 0;
    if (!input || !progress) return;

    input.addEventListener("change", function () {
      picked.replaceChildren(...Array.from(input.files).map(show));
      picked.hidden = input.files.length === 0;
    });

    function show(file) {
      const item = document.createElement("li");
      const image = document.createElement("img");
      image.alt = file.name;
      image.src = URL.createObjectURL(file);
      image.addEventListener("load", function () { URL.revokeObjectURL(image.src); });
      image.addEventListener("error", function () { image.replaceWith(document.createTextNode(file.name)); });
      item.append(image);
      return item;
    }

    function say(done, total) {
      progress.hidden = false;
      progress.querySelector("p").textContent = progress.dataset.words.replace("{n}", Math.min(done + 1, total)).replace("{total}", total);
      progress.querySelector(".cells").replaceChildren(...Array.from({ length: total }, function (_, n) {
        const cell = document.createElement("span");
        if (n < done) cell.className = "done";
        return cell;
      }));
    }

    function fieldsOf(names) {
      return names.filter(function (name) { return form.elements[name]; }).map(function (name) { return [name, form.elements[name].value]; });
    }

    // Where the browser keeps nothing, a photograph is kept by being sent.
    async function sendUnkept(file) {
      const data = new FormData();
      fieldsOf(["csrfmiddlewaretoken", "batch", "strake", "caption"]).forEach(function (pair) { data.append(pair[0], pair[1]); });
      data.append("photos", file, file.name);
      const answer = await fetch(form.action, { method: "POST", body: data, headers: { Accept: "application/json" }, redirect: "error" });
      if (answer.ok) return "";
      if (answer.status === 401) throw new Error("closed");
      const body = await answer.json().catch(function () { return {}; });
      if (body.refused && body.refused[0]) return body.refused[0].sentence;
      throw Object.assign(new Error("refused"), { sentence: body.sentence || body.message || progress.dataset.refused });
    }

    // Written down on this phone first; the answer says which photograph is kept, or why not.
    async function send(file) {
      const kept = window.reckoner;
      if (!kept || !kept.owner || !window.indexedDB) return sendUnkept(file);
      const bytes = await file.arrayBuffer();
      let item;
      try {
        item = await kept.keep({
          id: kept.newId(), url: new URL(form.action).pathname, page: location.pathname + location.search,
          title: form.dataset.keep + ": " + file.name, fields: fieldsOf(["batch", "strake", "caption"]),
          photo: { field: "photos", name: file.name, type: file.type, bytes: bytes },
        });
      } catch (problem) {
        if (kept.isFull(problem)) throw new Error("full");
        return sendUnkept(file);
      }
      const result = await kept.tryNow(item.id);
      if (result && result.what === "refused") {
        // What is no photograph will be none tomorrow: it is said here, beside its name, and waits no more. Where it is
        // refused for anything else, it may be the only copy, and stays.
        const refused = Array.isArray(result.body.refused) && result.body.refused[0];
        if (refused) await kept.drop("waiting", item.n);
        else if (await kept.get("waiting", item.n)) await kept.put("waiting", Object.assign(item, { needs: result.sentence, why: result.sentence }));
        kept.count();
        return refused ? refused.sentence : result.sentence + " " + progress.dataset.waits;
      }
      if (!result || result.what !== "done") waits += 1;
      return "";
    }

    function refuse(file, sentence) {
      const line = document.createElement("p");
      const name = document.createElement("b");
      line.className = "err";
      line.dataset.file = "";
      line.setAttribute("role", "alert");
      name.textContent = file.name;
      line.append(name, " " + sentence);
      progress.before(line);
    }

    // Beside what was refused: how far the rest is, and that the words have not been sent.
    function tell(number) {
      const line = document.createElement("p");
      const words = ["note", "next_note"].some(function (name) { return form.elements[name] && form.elements[name].value.trim(); });
      const kept = number === 1 ? progress.dataset.keptOne : progress.dataset.keptMany.replace("{n}", number);
      line.textContent = [number ? kept : "", words ? progress.dataset.noteLeft : ""].join(" ").trim();
      if (!line.textContent) return;
      line.className = "note";
      line.tabIndex = -1;
      line.dataset.told = "";
      progress.hidden = true;
      progress.before(line);
      line.focus();
    }

    const SENTENCES = { closed: "closed", full: "phoneFull" };

    async function sendFiles(files) {
      let refused = 0;
      const left = new DataTransfer();
      form.querySelectorAll("[data-file], [data-told]").forEach(function (line) { line.remove(); });
      for (let n = 0; n < files.length; n += 1) {
        say(n, files.length);
        let sentence;
        try { sentence = await send(files[n]); } catch (why) {
          sentence = why.sentence || progress.dataset[SENTENCES[why.message] || "broken"];
          left.items.add(files[n]);
        }
        if (sentence) { refused += 1; refuse(files[n], sentence); }
      }
      say(files.length, files.length);
      progress.hidden = false;
      input.files = left.files;
      input.dispatchEvent(new Event("change"));
      if (refused) tell(files.length - refused);
      if (form.elements.sent) form.elements.sent.value = Number(form.elements.sent.value || 0) + files.length - refused - waits;
      return refused;
    }

    // A form of photographs alone has said all once they are sent; what waits on the phone is told in its place.
    function finish(goOn) {
      if (!form.dataset.then) goOn();
      else if (waits) window.reckoner.keptHere(form, { title: form.dataset.keep });
      else location.assign(form.dataset.then);
    }

    // The photographs first, then the words of the form by themselves, as any other entry that is kept.
    form.addEventListener("reckoner:files", async function (event) {
      const files = Array.from(input.files);
      if (files.length === 0) return event.detail.goOn();
      button.disabled = true;
      waits = 0;
      const refused = await sendFiles(files);
      button.disabled = false;
      if (refused === 0) finish(event.detail.goOn);
    });
    form.addEventListener("submit", async function (event) {
      const files = Array.from(input.files);
      if (files.length === 0 || form.dataset.plain) return;
      event.preventDefault();
      button.disabled = true;
      const refused = await sendFiles(files);
      button.disabled = false;
      if (refused === 0) finish(function () { form.submit(); });
    });
  }
  document.querySelectorAll("form[data-photo-note]").forEach(start);
})();
