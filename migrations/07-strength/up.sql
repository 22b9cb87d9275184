-- How strong a keg is, and how warm a place gets: bottles and kegs are held by
-- the pressure of the warmest day.
--
-- Until now the class of a bottle was guessed from words in its name. The
-- program goes through the register once, in the same transaction, and a class
-- that only a guess can have given is no longer known.

ALTER TABLE place  ADD COLUMN summer_c  REAL CHECK (summer_c BETWEEN -100 AND 200);
ALTER TABLE vessel ADD COLUMN rated_bar REAL CHECK (rated_bar > 0 AND rated_bar <= 60);
