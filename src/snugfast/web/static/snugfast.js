// Optional. Without it every form posts itself and the page comes back at the right place.
// With it a form marked data-stay posts in place: the parts of the page that carry the same id in the answer are
// exchanged where they stand, so nothing jumps under a thumb.
// Without it all rounds of a sheet are one form, so that nothing ticked is left behind; with it each is its own.
const apart = (where) => {
  where.querySelectorAll('[form="work"]').forEach((one) => one.removeAttribute("form"));
  where.getElementById("work")?.remove();
};
apart(document);
document.addEventListener("submit", async (event) => {
  const form = event.target;
  if (!form.matches("form[data-stay]")) return;
  event.preventDefault();
  if (form.dataset.sent) return; // a double tap is one entry
  form.dataset.sent = "1";
  let answer;
  try {
    answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form, event.submitter)) });
  } catch {
    delete form.dataset.sent;
    form.submit();
    return;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  apart(page);
  const fresh = [...page.querySelectorAll("[data-part]")];
  const told = new URL(answer.url).searchParams.has("before"); // somebody else was first: the page says so on top
  if (!fresh.length || told || new URL(answer.url).pathname !== location.pathname) {
    location.href = answer.url;
    return;
  }
  for (const part of fresh) {
    const here = document.getElementById(part.id);
    if (!here) continue;
    // What is ticked in the other forms of the page is not sent yet: those stay as they are.
    if (here.contains(form) || !here.querySelector("form[data-stay]")) here.replaceWith(part);
  }
  history.replaceState(null, "", answer.url);
  const next = document.querySelector("[data-next]")?.dataset.next;
  const aim = document.querySelector("[data-part] .troubles")?.closest("[data-part]") ?? (next && document.getElementById(next));
  if (!aim) return;
  const heading = aim.querySelector("h2") || aim;
  heading.tabIndex = -1;
  heading.focus({ preventScroll: true });
  const top = aim.getBoundingClientRect().top;
  if (top < 0 || top > innerHeight * 0.6) aim.scrollIntoView({ block: "start" });
});
