"""Fault-finding practice on the running line: draw a case, look, measure, repair, name the cause, be marked.

    case = draw_case(seed, grade)                         case.py         grade 1 to 3; the demo site if none is given
    session = Session(case)                               session.py      take, watch, isolate, restore, repair, write
    signatures = Signatures(case.installation, folder)    signatures.py   folder: where the progress file lies
    signatures.start(); signatures.progress               in a process of its own; 0 to 1; stop() ends it
    marks = mark(session, (Claim(key, place),), signatures)    marking.py  a sentence for each part
    story(session, marks, signatures)                     story.py        what each reading said; a good path
    table(signatures), indistinguishable(signatures)      tables.py       fault × reading; what can't be told apart

Everything that is refused is a `WorkbookError` whose text is for the learner. A `Line` and a `Session` belong to one
thread. The first call of `table` or `indistinguishable` runs every fault; have `progress` at 1 before.
"""
