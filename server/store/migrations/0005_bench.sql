CREATE TABLE `bench_baseline` (
	`session_id` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`taken_at` integer NOT NULL,
	`grid_rows` integer NOT NULL,
	`grid_columns` integer NOT NULL,
	`empty` text NOT NULL,
	`counts_per_kg` real NOT NULL,
	`temperature_celsius` real NOT NULL,
	`masked` text NOT NULL,
	FOREIGN KEY (`session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `bench_baseline_unit` ON `bench_baseline` (`unit_serial`,`taken_at`);--> statement-breakpoint
CREATE TABLE `bench_calibration` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`equipment_id` text NOT NULL,
	`certificate_reference` text NOT NULL,
	`calibrated_on` text NOT NULL,
	`due_on` text NOT NULL,
	`kilograms` real NOT NULL,
	`expanded_uncertainty_kg` real NOT NULL,
	`coverage_factor` real NOT NULL,
	`resolution_kg` real NOT NULL,
	`written_at` integer NOT NULL,
	`written_by` text NOT NULL,
	FOREIGN KEY (`equipment_id`) REFERENCES `bench_equipment`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `bench_calibration_equipment` ON `bench_calibration` (`equipment_id`,`id`);--> statement-breakpoint
CREATE TABLE `bench_certificate` (
	`code` text PRIMARY KEY NOT NULL,
	`session_id` text NOT NULL,
	`issued_at` integer NOT NULL,
	`jws` text NOT NULL,
	FOREIGN KEY (`session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `bench_certificate_session_id_unique` ON `bench_certificate` (`session_id`);--> statement-breakpoint
CREATE TABLE `bench_equipment` (
	`id` text PRIMARY KEY NOT NULL,
	`kind` text NOT NULL,
	`name` text NOT NULL,
	`registered_at` integer NOT NULL,
	`withdrawn_at` integer
);
--> statement-breakpoint
CREATE UNIQUE INDEX `bench_equipment_name_unique` ON `bench_equipment` (`name`);--> statement-breakpoint
CREATE TABLE `bench_session` (
	`id` text PRIMARY KEY NOT NULL,
	`reference` text NOT NULL,
	`unit_serial` text NOT NULL,
	`state` text NOT NULL,
	`version` integer NOT NULL,
	`held_by` text NOT NULL,
	`started_at` integer NOT NULL,
	`touched_at` integer NOT NULL,
	`step` text NOT NULL,
	`asked` text,
	`tolerances` text NOT NULL,
	`outcome` text,
	`note` text,
	`ended_at` integer,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`held_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE UNIQUE INDEX `bench_session_reference_unique` ON `bench_session` (`reference`);--> statement-breakpoint
CREATE INDEX `bench_session_unit` ON `bench_session` (`unit_serial`,`started_at`);--> statement-breakpoint
CREATE UNIQUE INDEX `bench_session_one_open_per_unit` ON `bench_session` (`unit_serial`) WHERE state = 'open';--> statement-breakpoint
CREATE TABLE `bench_step_done` (
	`session_id` text NOT NULL,
	`step` text NOT NULL,
	`attempt` integer NOT NULL,
	`readings` text NOT NULL,
	`facts` text NOT NULL,
	`judged` text,
	`written_at` integer NOT NULL,
	`written_by` text NOT NULL,
	PRIMARY KEY(`session_id`, `step`, `attempt`),
	FOREIGN KEY (`session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`written_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE TABLE `fault_coding` (
	`id` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`session_id` text,
	`problem` text NOT NULL,
	`seen` text NOT NULL,
	`conclusion` text NOT NULL,
	`note` text,
	`coded_at` integer NOT NULL,
	`coded_by` text NOT NULL,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`coded_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `fault_coding_unit` ON `fault_coding` (`unit_serial`,`coded_at`);--> statement-breakpoint
CREATE TABLE `part_change` (
	`id` integer PRIMARY KEY AUTOINCREMENT NOT NULL,
	`unit_serial` text NOT NULL,
	`coding_id` text,
	`part` text NOT NULL,
	`fitted` text,
	`changed_at` integer NOT NULL,
	`changed_by` text NOT NULL,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`coding_id`) REFERENCES `fault_coding`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`changed_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action
);
--> statement-breakpoint
CREATE INDEX `part_change_unit` ON `part_change` (`unit_serial`,`changed_at`);--> statement-breakpoint
PRAGMA foreign_keys=OFF;--> statement-breakpoint
CREATE TABLE `__new_certificate` (
	`serial` text PRIMARY KEY NOT NULL,
	`unit_serial` text NOT NULL,
	`loan_id` text,
	`bench_session_id` text,
	`key_thumbprint` text NOT NULL,
	`pem` text NOT NULL,
	`issued_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`revoked_at` integer,
	`revoke_reason` text,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`bench_session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "certificate_for_one" CHECK((loan_id is null) <> (bench_session_id is null))
);
--> statement-breakpoint
INSERT INTO `__new_certificate`("serial", "unit_serial", "loan_id", "bench_session_id", "key_thumbprint", "pem", "issued_at", "expires_at", "revoked_at", "revoke_reason") SELECT "serial", "unit_serial", "loan_id", NULL, "key_thumbprint", "pem", "issued_at", "expires_at", "revoked_at", "revoke_reason" FROM `certificate`;--> statement-breakpoint
DROP TABLE `certificate`;--> statement-breakpoint
ALTER TABLE `__new_certificate` RENAME TO `certificate`;--> statement-breakpoint
PRAGMA foreign_keys=ON;--> statement-breakpoint
CREATE INDEX `certificate_unit` ON `certificate` (`unit_serial`);--> statement-breakpoint
CREATE TABLE `__new_pairing_code` (
	`id` text PRIMARY KEY NOT NULL,
	`loan_id` text,
	`bench_session_id` text,
	`unit_serial` text NOT NULL,
	`purpose` text NOT NULL,
	`issued_at` integer NOT NULL,
	`expires_at` integer NOT NULL,
	`issued_by` text NOT NULL,
	`typed_hash` text NOT NULL,
	`withdrawn_at` integer,
	`spent_at` integer,
	`spent_by_key` text,
	`certificate_serial` text,
	FOREIGN KEY (`loan_id`) REFERENCES `loan`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`bench_session_id`) REFERENCES `bench_session`(`id`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`unit_serial`) REFERENCES `unit`(`serial`) ON UPDATE no action ON DELETE no action,
	FOREIGN KEY (`issued_by`) REFERENCES `staff`(`id`) ON UPDATE no action ON DELETE no action,
	CONSTRAINT "pairing_code_for_one" CHECK((loan_id is null) <> (bench_session_id is null))
);
--> statement-breakpoint
INSERT INTO `__new_pairing_code`("id", "loan_id", "bench_session_id", "unit_serial", "purpose", "issued_at", "expires_at", "issued_by", "typed_hash", "withdrawn_at", "spent_at", "spent_by_key", "certificate_serial") SELECT "id", "loan_id", NULL, "unit_serial", "purpose", "issued_at", "expires_at", "issued_by", "typed_hash", "withdrawn_at", "spent_at", "spent_by_key", "certificate_serial" FROM `pairing_code`;--> statement-breakpoint
DROP TABLE `pairing_code`;--> statement-breakpoint
ALTER TABLE `__new_pairing_code` RENAME TO `pairing_code`;--> statement-breakpoint
CREATE UNIQUE INDEX `pairing_code_typed_hash_unique` ON `pairing_code` (`typed_hash`);--> statement-breakpoint
CREATE INDEX `pairing_code_loan` ON `pairing_code` (`loan_id`,`issued_at`);--> statement-breakpoint
CREATE INDEX `pairing_code_bench` ON `pairing_code` (`bench_session_id`,`issued_at`);--> statement-breakpoint
ALTER TABLE `model` ADD `bench_tolerances` text;