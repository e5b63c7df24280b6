// Draws each chart of the page from the specification that stands beside its place.
(() => {
  "use strict";
  const refuse = () => Promise.reject(new Error("these pages load nothing from elsewhere"));
  const options = {
    actions: false,
    renderer: "svg",
    ast: true, // expressions are interpreted, because the content policy forbids evaluation
    loader: { load: refuse, sanitize: refuse, http: refuse, file: refuse },
    tooltip: { disableDefaultStyle: true },
  };
  for (const figure of document.querySelectorAll("figure[data-chart]")) {
    const place = figure.querySelector(".chart");
    const text = figure.querySelector('script[type="application/json"]').textContent;
    window.vegaEmbed(place, JSON.parse(text), options).catch((error) => {
      place.textContent = "This chart could not be drawn; the table holds the same numbers.";
      console.error(error);
    });
  }
})();
