ALTER TABLE `ledger_day` ADD `digest` text;--> statement-breakpoint
ALTER TABLE `ledger_day` ADD `awaits` integer DEFAULT false NOT NULL;--> statement-breakpoint
CREATE INDEX `ledger_day_awaiting` ON `ledger_day` (`loan_id`,`day`) WHERE "ledger_day"."awaits" = 1;--> statement-breakpoint
UPDATE `ledger_day` SET `awaits` = 1 WHERE `runs` LIKE '%[4,%';