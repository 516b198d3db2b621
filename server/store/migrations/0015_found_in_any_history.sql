DROP INDEX `stretch_begun`;--> statement-breakpoint
CREATE INDEX `stretch_long` ON `stretch` (`starts_at`,`ends_at`) WHERE kind = 'gap' and (ends_at is null or ends_at - starts_at > 86400000);--> statement-breakpoint
CREATE INDEX `stretch_begun` ON `stretch` (`kind`,`starts_at`,`ends_at`);--> statement-breakpoint
CREATE INDEX `borrower_area` ON `borrower` (`area`);--> statement-breakpoint
CREATE INDEX `loan_in_force` ON `loan` (`started_at`,`ended_at`);--> statement-breakpoint
CREATE INDEX `loan_borrower_in_force` ON `loan` (`borrower_id`,`started_at`,`ended_at`);--> statement-breakpoint
CREATE INDEX `message_block_sequences` ON `message_block` (`unit_serial`,`boot`,`to_sequence`,`from_sequence`);