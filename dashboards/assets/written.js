// A page is written once and ages: says so where the reader's day is too far from the page's own.
(() => {
  "use strict";
  const most = 2; // days
  const notice = document.getElementById("stale");
  if (!notice) return;
  const [year, month, day] = notice.dataset.written.split("-").map(Number);
  const now = new Date();
  const today = Date.UTC(now.getFullYear(), now.getMonth(), now.getDate());
  const days = Math.round((today - Date.UTC(year, month - 1, day)) / 86400000);
  if (days <= most) return;
  notice.querySelector("span").textContent = days;
  notice.hidden = false;
})();
