"""Questions that the workshop is asked, a folder for each: what is short, to buy, to lift, to move, and why.

An answer is one plain dataclass (`model.Answer`).  Its JSON, its OpenAPI schema and example, its sheets and
its table at a terminal are made from that, and reasons are put into words once, when it is made.
"""
