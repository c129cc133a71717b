//! Diagnostics as text, with an excerpt of the source and the place marked.
