//! What a maker can do: a deed is carried out on the store, `now` given.
