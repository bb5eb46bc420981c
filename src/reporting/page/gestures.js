/*
 * gestures.js - wheel, drag, pinch and keys on the rows.
 *
 * The page must not be trapped: a wheel that is turned while the page scrolls goes on
 * scrolling it, and so does one that would show more than there is; a finger that goes
 * up or down scrolls, one that goes sideways moves time (touch-action in page.css).
 */
Drawbar.gestures = ((D) => {
    'use strict';
    const SCROLLING_MS = 350; /* wheel events closer than this are one turn */
    const SLOP_PX = 6;        /* a finger that moves less has tapped */
    const WHEEL_STEP = 0.0016; /* zoom per pixel of wheel: a notch of 100 px is 17 % */

    /* `place` gives the plot's left edge and width in pixels, and the element's own left. */
    function attach(element, view, place, tap) {
        const pointers = new Map();
        let moved = 0;
        let scrolled = 0;

        const timeAt = (clientX) => {
            const p = place();
            return view.from + (clientX - p.left) / p.width * (view.to - view.from);
        };

        element.addEventListener('wheel', (event) => {
            const now = event.timeStamp;
            const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey;
            const delta = (sideways && event.deltaX !== 0 ? event.deltaX : event.deltaY) *
                (event.deltaMode === 1 ? 16 : 1);
            const pinch = event.ctrlKey || event.metaKey;
            const idle = !pinch && !sideways &&
                (now - scrolled < SCROLLING_MS || (delta > 0 && view.isWhole()));
            if (idle || (sideways && view.isWhole())) {
                scrolled = now;
                return;
            }
            event.preventDefault();
            if (sideways) {
                view.pan(delta / place().width * (view.to - view.from));
            } else {
                view.zoom(Math.exp(delta * WHEEL_STEP * (pinch ? 5 : 1)), timeAt(event.clientX));
            }
        }, { passive: false });
        window.addEventListener('scroll', () => { scrolled = performance.now(); }, { passive: true });

        element.addEventListener('pointerdown', (event) => {
            if (event.target.closest('button, a') || event.button !== 0) {
                return;
            }
            pointers.set(event.pointerId, event.clientX);
            moved = 0;
        });

        const spread = () => {
            const [a, b] = [...pointers.values()];
            return [Math.max(Math.abs(a - b), 20), (a + b) / 2];
        };

        element.addEventListener('pointermove', (event) => {
            if (!pointers.has(event.pointerId)) {
                if (event.pointerType === 'mouse') {
                    view.point(D.clamp(timeAt(event.clientX), view.from, view.to));
                }
                return;
            }
            const before = pointers.get(event.pointerId);
            if (pointers.size === 2) {
                const [wide, middle] = spread();
                pointers.set(event.pointerId, event.clientX);
                const [wider, now] = spread();
                view.pan((middle - now) / place().width * (view.to - view.from));
                view.zoom(wide / wider, timeAt(now));
                moved = Infinity;
                return;
            }
            moved += Math.abs(event.clientX - before);
            if (moved < SLOP_PX) {
                return;
            }
            if (!element.hasPointerCapture(event.pointerId)) {
                element.setPointerCapture(event.pointerId);
            }
            view.pan((before - event.clientX) / place().width * (view.to - view.from));
            pointers.set(event.pointerId, event.clientX);
        });

        const release = (event) => {
            if (!pointers.delete(event.pointerId) || event.type === 'pointercancel') {
                return;
            }
            if (moved < SLOP_PX && pointers.size === 0) {
                view.point(D.clamp(timeAt(event.clientX), view.from, view.to));
                tap(event);
            }
        };
        element.addEventListener('pointerup', release);
        element.addEventListener('pointercancel', release);
        element.addEventListener('pointerleave', (event) => {
            if (event.pointerType === 'mouse' && pointers.size === 0) {
                view.point(null);
            }
        });
        element.addEventListener('dblclick', (event) => {
            if (!event.target.closest('button, a')) {
                view.zoom(0.4, timeAt(event.clientX));
            }
        });
        element.addEventListener('keydown', (event) => keys(event, view));
    }

    function keys(event, view) {
        const span = view.to - view.from;
        const middle = view.cursor === null ? (view.from + view.to) / 2 : view.cursor;
        const actions = {
            ArrowLeft: () => view.pan(-span * 0.2),
            ArrowRight: () => view.pan(span * 0.2),
            PageUp: () => view.pan(-span),
            PageDown: () => view.pan(span),
            Home: () => view.pan(-view.whole_s),
            End: () => view.pan(view.whole_s),
            '+': () => view.zoom(0.6, middle),
            '=': () => view.zoom(0.6, middle),
            '-': () => view.zoom(1 / 0.6, middle),
            0: () => view.whole(),
        };
        if (actions[event.key] && !event.ctrlKey && !event.metaKey && !event.altKey) {
            actions[event.key]();
            event.preventDefault();
        }
    }

    return { attach, keys };
})(Drawbar);
