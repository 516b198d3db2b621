ALTER TABLE `bench_session` ADD `tolerances_from` text;--> statement-breakpoint
ALTER TABLE `bench_session` ADD `absent_cells` text;--> statement-breakpoint
ALTER TABLE `model` ADD `tolerances_from` text;--> statement-breakpoint
ALTER TABLE `model` ADD `absent_cells` text;--> statement-breakpoint
ALTER TABLE `model` ADD `version` integer DEFAULT 1 NOT NULL;