"use strict";
// Filters and sorts the list; what is chosen stands in the address, so it can be kept and sent.
(() => {
  const form = document.querySelector(".controls");
  const list = document.querySelector(".sheets");
  const nothing = document.querySelector(".nothing");
  const only = document.querySelector(".only");
  const items = [...list.children];
  const sheets = items.filter((item) => item.classList.contains("sheet"));
  const words = new Map(sheets.map((item) => [item, item.textContent.toLowerCase()]));
  const byName = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });
  const rank = (a, b) => a.dataset.rank - b.dataset.rank;
  const orders = {
    rank,
    name: (a, b) => byName.compare(a.dataset.name, b.dataset.name) || rank(a, b),
    chance: (a, b) => b.dataset.chance - a.dataset.chance || rank(a, b),
    process: (a, b) => byName.compare(a.dataset.process, b.dataset.process) || rank(a, b),
  };
  let sortedBy = "rank";

  const isShown = (item, show, find) =>
    (show === "all" || item.dataset.standing === show || (show === "inspect" && "inspect" in item.dataset)) &&
    (!find || words.get(item).includes(find));

  const apply = () => {
    const show = form.elements.show.value || "all";
    const sort = orders[form.elements.sort.value] ? form.elements.sort.value : "rank";
    const find = form.elements.find.value.trim().toLowerCase();
    if (sort !== sortedBy) {
      list.replaceChildren(...(sort === "rank" ? items : [...sheets].sort(orders[sort])));
      sortedBy = sort;
    }
    const seen = new Set();
    let count = 0;
    for (const item of sheets) {
      item.hidden = !isShown(item, show, find);
      if (!item.hidden) {
        seen.add(item.dataset.standing);
        count += 1;
      }
    }
    for (const item of items) {
      if (item.classList.contains("group")) item.hidden = !seen.has(item.dataset.standing);
    }
    form.elements.shown.value = count === sheets.length ? "" : `${count} of ${sheets.length} shown`;
    const chosen = [...form.elements.show].find((radio) => radio.checked);
    const filters = [show === "all" ? "" : chosen.nextElementSibling.firstChild.textContent.trim(), find].filter(Boolean);
    nothing.hidden = count > 0;
    // Printed above the list and at the head, so that a check-list of some sheets is not taken for the whole lot.
    const some = `${count} of the ${sheets.length} sheets of this lot: ${filters.join(", ")}`;
    if (filters.length) list.dataset.only = `Only ${some}`;
    else delete list.dataset.only;
    only.hidden = !filters.length;
    only.textContent = filters.length ? `Listed below are only ${some}. The figures here are those of the whole lot.` : "";
    const kept = new URLSearchParams();
    if (show !== "all") kept.set("show", show);
    if (sort !== "rank") kept.set("sort", sort);
    if (find) kept.set("find", find);
    const address = kept.size ? `#${kept}` : "#";
    if (location.hash !== address && location.hash !== kept.toString()) history.replaceState(null, "", address);
  };

  const restore = () => {
    const kept = new URLSearchParams(location.hash.slice(1));
    const radio = [...form.elements.show].find((r) => r.value === (kept.get("show") || "all"));
    if (radio) radio.checked = true;
    form.elements.sort.value = orders[kept.get("sort")] ? kept.get("sort") : "rank";
    form.elements.find.value = kept.get("find") || "";
    apply();
  };

  form.hidden = false;
  form.addEventListener("input", apply);
  form.addEventListener("submit", (event) => event.preventDefault());
  addEventListener("hashchange", restore);
  restore();
})();
