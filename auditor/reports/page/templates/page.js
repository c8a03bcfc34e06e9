"use strict";
(() => {
  const form = document.getElementById("filters");
  if (!form) return;
  const body = document.getElementById("matrix").tBodies[0];
  const rows = [...body.rows];
  const sections = [...document.querySelectorAll("article.module")];
  const [find, order, shown] = ["find", "order", "shown"].map((id) => document.getElementById(id));
  const verdicts = [...form.querySelectorAll("[name=verdict]")];

  const fits = (element, words, chosen) =>
    chosen.has(element.dataset.verdict) && words.every((word) => element.dataset.words.includes(word));

  const filter = () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    const chosen = new Set(verdicts.filter((box) => box.checked).map((box) => box.value));
    for (const element of [...rows, ...sections]) element.hidden = !fits(element, words, chosen);
    const left = rows.filter((row) => !row.hidden).length;
    document.getElementById("no-match").hidden = left > 0;
    shown.textContent = left === rows.length ? "" : `${left} of ${rows.length} rows are shown`;
  };

  const sort = () => {
    const byFile = (row, other) => row.dataset.position - other.dataset.position;
    body.append(...(order.value === "file" ? [...rows].sort(byFile) : rows));
  };

  /* A link may lead to what a filter hides. */
  const reveal = () => {
    const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target || !target.closest("[hidden]")) return;
    form.reset();
    filter();
    target.scrollIntoView();
  };

  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("input", filter);
  order.addEventListener("change", sort);
  addEventListener("hashchange", reveal);
  form.hidden = false;
})();
