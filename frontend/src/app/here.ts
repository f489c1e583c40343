// What all screens of this tab share.
import { Api } from "../api/client";
import { tabName, UnsavedShelf } from "../job/unsaved";

export const api = new Api();
export const shelf = new UnsavedShelf(localStorage, tabName(sessionStorage));
