-- +goose Up

-- An entry is its own receipt: the keyed hash of the delivery that added it, '' where
-- none did (an import) or where it lies in receipt (before this). A delivery that comes
-- again is looked for among the newest entries of its member.
ALTER TABLE entry ADD COLUMN receipt BLOB NOT NULL DEFAULT x'' CHECK (length(receipt) IN (0, 16));

-- receipts_until is the day until which a delivery of the member's may be in receipt
-- all the same. next_entry is no longer counted on with each entry: the next number is
-- it or the one behind the newest entry, whichever is greater.
ALTER TABLE book ADD COLUMN receipts_until INTEGER NOT NULL DEFAULT 0;
UPDATE book SET receipts_until = coalesce((SELECT max(expires) FROM receipt), 0);

-- An index is a page more for each post to write. What these were for is done once a
-- day, or by going back through a member's newest entries.
DROP INDEX receipt_expires;
DROP INDEX draft_expires;
DROP INDEX entry_taken;

-- A draft that was shared leaves one receipt, with the delivery that shared it: ''
-- where that has one of its own, as all had before.
ALTER TABLE receipt ADD COLUMN by BLOB NOT NULL DEFAULT x'' CHECK (length(by) IN (0, 32));
