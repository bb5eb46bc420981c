/*
 * core.js - small tools that the other scripts share. Every script of the page adds to
 * the one object `Drawbar` and runs strictly. Text from the recording enters the page
 * through textContent alone.
 */
const Drawbar = (() => {
    'use strict';

    /* An element with properties set and children in it; a string child becomes text. */
    function make(tag, properties, ...children) {
        const element = document.createElement(tag);
        for (const [key, value] of Object.entries(properties || {})) {
            if (key.startsWith('aria-') || key.startsWith('data-') || key === 'role') {
                element.setAttribute(key, value);
            } else {
                element[key] = value;
            }
        }
        element.append(...children);
        return element;
    }

    const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

    /* Custom properties of the style sheet as the scheme in force has them, asked once. */
    let colours = {};
    let family = '';

    function colour(name) {
        if (!(name in colours)) {
            colours[name] = getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
        }
        return colours[name];
    }

    function forgetColours() {
        colours = {};
    }

    function font(size, weight) {
        family = family || getComputedStyle(document.body).fontFamily;
        return `${weight || 400} ${size}px ${family}`;
    }

    /* A canvas made sharp for the screen, `width` by `height` as the style sheet counts. */
    function sharpen(canvas, width, height) {
        const ratio = window.devicePixelRatio || 1;
        canvas.width = Math.round(width * ratio);
        canvas.height = Math.round(height * ratio);
        canvas.style.width = `${width}px`;
        canvas.style.height = `${height}px`;
        const context = canvas.getContext('2d');
        context.setTransform(ratio, 0, 0, ratio, 0, 0);
        return context;
    }

    /* Text cut to a width, with a mark where it was cut. */
    function fitted(context, text, width) {
        if (context.measureText(text).width <= width) {
            return text;
        }
        let end = text.length;
        while (end > 1 && context.measureText(`${text.slice(0, end)}…`).width > width) {
            end--;
        }
        return `${text.slice(0, end)}…`;
    }

    return { make, clamp, colour, forgetColours, sharpen, font, fitted };
})();
