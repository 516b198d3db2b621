ALTER TABLE `unit` ADD `relay` text;--> statement-breakpoint
CREATE INDEX `stretch_begun` ON `stretch` (`kind`,`starts_at`);