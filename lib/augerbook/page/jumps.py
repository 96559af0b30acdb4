"""What happens in the browser alone: jumps from the strip, folds that stay, links that open a heading.

A chip jumps to its margin, which it opens, and a count to the list of what is counted, which is marked as its landing.
"""

from __future__ import annotations

import ipywidgets as widgets

from augerbook.page.page_rules import STAYING
from augerbook.page.unseen import AGAIN_MS, FIND_FOLD, ROOT, script_html, unseen

#: Class of the box that holds the margins, and of the panel that mends one.
MARGINS, MENDING = "augerbook-margins", "augerbook-mending"

# A browser tab of its own starts JupyterLab once more and forgets the heading. JupyterLab itself opens notebooks side
# by side, at the heading: what it does for links in Markdown is asked of it for links in widgets too. It shows a
# notebook that was not open yet from its top, so it is asked again once the heading is there. Elsewhere, and with a key
# held down, a link is a link.
_FOLLOW = (
    "const follow=(link,event)=>{if(!event.isTrusted){return}"
    "const at=/\\/lab(?:\\/workspaces\\/[^/]+)?\\/tree\\/(.*\\/)?/.exec(location.pathname);"
    "if(!at||event.ctrlKey||event.metaKey||event.shiftKey){link.removeAttribute('data-commandlinker-command');return}"
    "link.setAttribute('data-commandlinker-command','rendermime:handle-local-link');"
    "link.setAttribute('data-commandlinker-args',JSON.stringify("
    "{path:decodeURIComponent(at[1]||'')+link.dataset.chapter,id:link.hash}));"
    "const id=CSS.escape(decodeURIComponent(link.hash.slice(1)));let left=60;const again=()=>{"
    "const shown=document.querySelector('.jp-NotebookPanel:not(.lm-mod-hidden)');"
    "if(shown&&shown.querySelector(`[data-jupyter-id='${id}'],[id='${id}']`)){link.click()}"
    "else if(left-->0){setTimeout(again,250)}};setTimeout(again,250)};"
)

# The margins are written anew at each rest: a watcher, called before the browser paints, opens and closes them again as
# the reader left them, and gives the keyboard back to where it was. Nothing of this costs while a slider moves.
_SCRIPT = (
    f"{ROOT}{FIND_FOLD}"
    "if(!root.augerbookFolds){const folds=root.augerbookFolds=new Map();let at=null;"
    "const fold=(event)=>{const summary=event.target.closest('details[data-fold] > summary');"
    "return summary&&summary.parentElement};"
    "const show=(one)=>one.scrollIntoView({block:'start'});"
    f"{_FOLLOW}"
    "root.addEventListener('click',(event)=>{"
    "const jump=event.target.closest('[data-jump]');"
    "if(jump){const id=jump.dataset.jump,one=find(id);if(one){folds.set(id,true);one.open=true}"
    "const at=one||root.querySelector(`[data-landing='${CSS.escape(id)}']`);"
    "if(at){show(at);(one?one.querySelector('summary'):at).focus({preventScroll:true})}return}"
    "const panel=event.target.closest('[data-panel]');if(panel){"
    "const head=[...root.querySelectorAll('.jupyter-widget-Collapse-header')]"
    ".find((one)=>one.textContent.trim()===panel.dataset.panel);"
    "if(head){if(!head.closest('.jupyter-widget-Collapse').classList.contains('jupyter-widget-Collapse-open'))"
    "{head.click()}show(head)}return}"
    "const mend=event.target.closest('[data-mend]');"
    f"if(mend){{const list=root.querySelector('.{MENDING} select');if(list){{"
    "const option=[...list.options].find((one)=>one.label.replaceAll('\u00a0',' ')===mend.dataset.mend);"
    "if(option){list.value=option.value;list.dispatchEvent(new Event('change',{bubbles:true}))}"
    "show(list);list.focus({preventScroll:true})}return}"
    "const link=event.target.closest('a[data-chapter]');if(link){follow(link,event);return}"
    "const one=fold(event);if(one){setTimeout(()=>folds.set(one.dataset.fold,one.open))}});"
    "root.addEventListener('focusin',(event)=>{const one=fold(event);at=one?one.dataset.fold:null});"
    "const again=()=>{for(const [id,open] of folds){const one=find(id);if(one){one.open=open}}"
    "if(at!==null&&document.activeElement===document.body){const one=find(at);"
    "if(one){one.querySelector('summary').focus({preventScroll:true})}}};"
    f"root.augerbookWatch=()=>{{for(const box of root.querySelectorAll('.{MARGINS},.{STAYING}')){{"
    "if(!box.augerbookWatched){box.augerbookWatched=true;"
    "new MutationObserver(again).observe(box,{childList:true,subtree:true})}}};"
    "}else{root.augerbookFolds.clear()}"
    f"for(const wait of {AGAIN_MS}){{setTimeout(root.augerbookWatch,wait)}}"
)


def jumps() -> widgets.HTML:
    """Return a widget without size that lets chips jump and folds stay on the page that it is shown together with."""
    return unseen(script_html(_SCRIPT))
