for (const figure of document.querySelectorAll("figure.day")) {
  const told = figure.querySelector(".told");
  const links = [...figure.querySelectorAll("svg a")];
  const tell = (e) => {
    const a = e.target.closest("svg a");
    if (a === null) return;
    const title = a.querySelector("title").textContent;
    const row = document.getElementById(a.getAttribute("href").slice(1));
    told.textContent = title.endsWith("…") ? title.slice(0, title.indexOf(". ") + 2) + row.lastElementChild.textContent + "." : title;
  };
  figure.addEventListener("focusin", tell);
  figure.addEventListener("pointerover", tell);
  links.forEach((a, i) => { a.tabIndex = i === 0 ? 0 : -1; });
  figure.addEventListener("keydown", (e) => {
    const at = links.indexOf(e.target.closest("svg a"));
    if (at === -1) return;
    const lane = links[at].parentNode;
    const beyond = (step) => {
      let i = at;
      while (links[i] !== undefined ? links[i].parentNode === lane : false) i += step;
      return i;
    };
    const to = { ArrowRight: () => at + 1, ArrowLeft: () => at - 1, ArrowDown: () => beyond(1), ArrowUp: () => beyond(-1) }[e.key];
    if (to === undefined) return;
    e.preventDefault();
    const next = links[to()];
    if (next === undefined) return;
    links[at].tabIndex = -1;
    next.tabIndex = 0;
    next.focus();
  });
}
