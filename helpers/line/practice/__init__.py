"""Fault-finding practice on the running line: draw a case, look, measure, repair, name the cause, be marked.

    case = draw_case(seed, grade)                         case.py         grade 1 to 3; the demo site if none is given
    session = Session(case)                               session.py      take, watch, isolate, restore, repair, write
    evidence = evidence_of(case.installation)             ../evidence     what each fault lets the instruments say
    marks = mark(session, (Claim(key, place),), evidence) marking.py      a sentence for each part
    story(session, marks, evidence)                       story.py        what each reading said; a good path

Everything that is refused is a `WorkbookError` whose text is for the learner. A `Line` and a `Session` belong to one
thread. Without evidence for its network a session is marked as far as that goes, and says so.
"""
