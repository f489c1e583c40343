import { mount } from "svelte";
import App from "./app/App.svelte";
import "./app/app.css";

const target = document.getElementById("page");
if (target === null) throw new Error("the page has no place to stand in");
mount(App, { target });
