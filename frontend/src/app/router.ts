// Addresses of the page: /, /job/<id>/<screen>, /people, /you, and /g/… where a link lets nobody in any more.
import { Notice } from "../job/notice";

export const STAGES = ["measure", "build", "cover", "buy", "work", "prove"] as const;
export type Stage = (typeof STAGES)[number];

/** What can be seen of a job: a stage, its history, and the links by which guests read it. */
export type Screen = Stage | "history" | "links";

export type Place = { at: "jobs" | "people" | "you" | "link" | "nowhere" } | { at: "job"; id: string; stage: Screen };

/** Read an address. */
export function placeOf(path: string): Place {
  const parts = path.split("/").filter((part) => part !== "");
  if (parts.length === 0) return { at: "jobs" };
  const [first, id, said = "measure"] = parts;
  if (parts.length === 1 && (first === "people" || first === "you")) return { at: first };
  if (parts.length === 2 && first === "g") return { at: "link" };
  if (first === "job" && id !== undefined && /^[0-9a-f]{32}$/.test(id) && parts.length <= 3) {
    if (said === "history" || said === "links") return { at: "job", id, stage: said };
    const stage = STAGES.find((s) => s === said);
    if (stage !== undefined) return { at: "job", id, stage };
  }
  return { at: "nowhere" };
}

class Router {
  readonly #notice = new Notice();

  get place(): Place {
    this.#notice.seen();
    return placeOf(location.pathname);
  }

  get path(): string {
    this.#notice.seen();
    return location.pathname;
  }

  go(path: string, replace = false): void {
    history[replace ? "replaceState" : "pushState"](null, "", path);
    this.#notice.tell();
  }

  /** Let links of our own change the page without loading it anew. */
  start(): () => void {
    const back = (): void => this.#notice.tell();
    const click = (event: MouseEvent): void => {
      const link = (event.target as Element).closest?.("a[href]");
      if (!(link instanceof HTMLAnchorElement) || event.defaultPrevented || event.button !== 0) return;
      if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey || link.target !== "" || link.hasAttribute("download")) return;
      if (link.origin !== location.origin || link.pathname.startsWith("/api/") || link.hash !== "") return;
      event.preventDefault();
      this.go(link.pathname);
    };
    addEventListener("popstate", back);
    addEventListener("click", click);
    return () => {
      removeEventListener("popstate", back);
      removeEventListener("click", click);
    };
  }
}

export const router = new Router();
