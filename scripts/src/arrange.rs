//! The same module in an order that compresses better.
//!
//! Functions of one signature stand together, the small ones first: what was made from the same generic code is then
//! near its like. In each function the variables that are used most come first, so that its frame has the same number
//! in most of them. Numbers take their shortest form; the split-off parts come with all of theirs five bytes long.
//! Nothing else is changed. A size optimiser after this makes the compressed file no smaller.

use anyhow::{Context, Result, anyhow};
use std::cmp::Reverse;
use std::convert::Infallible;
use wasm_encoder::reencode::{Error, Reencode, utils};
use wasm_encoder::{CodeSection, Function, FunctionSection, Instruction, Module, ValType};
use wasmparser::{FuncType, FunctionBody, Operator, Parser, Payload, TypeRef};

/// Puts a module in order and leaves out its custom sections, which engines skip.
///
/// # Errors
///
/// When it is no module, or has something that is not made for browsers today.
pub(crate) fn arrange(wasm: &[u8]) -> Result<Vec<u8>> {
    let found = Found::of(wasm)?;
    let order = found.order();
    let mut numbers = Numbers::of(found.n_imported, &order);
    let mut module = Module::new();
    for payload in Parser::new(0).parse_all(wasm) {
        match payload? {
            Payload::FunctionSection(_) => {
                let mut section = FunctionSection::new();
                for &own in &order {
                    section.function(found.signature[own]);
                }
                module.section(&section);
            }
            Payload::CodeSectionStart { .. } => {
                let mut section = CodeSection::new();
                for &own in &order {
                    section.function(&numbers.function(&found, own)?);
                }
                module.section(&section);
            }
            other => numbers.copy(other, &mut module)?,
        }
    }
    Ok(module.finish())
}

/// The functions of a module as they were found.
#[derive(Default)]
struct Found<'a> {
    /// How many are imported; those keep their numbers.
    n_imported: u32,
    signatures: Vec<FuncType>,
    /// Which signature each of the module's own functions has.
    signature: Vec<u32>,
    bodies: Vec<FunctionBody<'a>>,
}

impl<'a> Found<'a> {
    fn of(wasm: &'a [u8]) -> Result<Self> {
        let mut found = Self::default();
        for payload in Parser::new(0).parse_all(wasm) {
            match payload.context("reading the wasm")? {
                Payload::TypeSection(types) => {
                    for signature in types.into_iter_err_on_gc_types() {
                        found.signatures.push(signature?);
                    }
                }
                Payload::ImportSection(imports) => {
                    for import in imports.into_imports() {
                        if matches!(import?.ty, TypeRef::Func(_) | TypeRef::FuncExact(_)) {
                            found.n_imported += 1;
                        }
                    }
                }
                Payload::FunctionSection(own) => {
                    found.signature = own.into_iter().collect::<Result<_, _>>()?;
                }
                Payload::CodeSectionEntry(body) => found.bodies.push(body),
                _ => {}
            }
        }
        Ok(found)
    }

    /// The module's own functions in their new order.
    fn order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.bodies.len()).collect();
        order.sort_by_key(|&own| {
            let range = self.bodies[own].range();
            (self.signature[own], range.end - range.start)
        });
        order
    }
}

/// The new numbers: of all functions, and of the variables of the one that is being written.
struct Numbers {
    functions: Vec<u32>,
    variables: Vec<u32>,
}

impl Numbers {
    fn of(n_imported: u32, order: &[usize]) -> Self {
        let mut functions: Vec<u32> = (0..n_imported).collect();
        functions.resize(functions.len() + order.len(), 0);
        for (new, &own) in (n_imported..).zip(order) {
            functions[n_imported as usize + own] = new;
        }
        Self {
            functions,
            variables: Vec::new(),
        }
    }

    fn function(&mut self, found: &Found, own: usize) -> Result<Function> {
        let body = &found.bodies[own];
        let signature = &found.signatures[found.signature[own] as usize];
        let declared = self.renumber(body, signature.params().len())?;
        let mut function = Function::new(declared);
        for operator in body.get_operators_reader()? {
            function.instruction(&self.instruction(operator?).map_err(plain)?);
        }
        Ok(function)
    }

    /// Numbers a function's variables anew and answers how they are declared: by type, the most used first.
    fn renumber(&mut self, body: &FunctionBody, n_given: usize) -> Result<Vec<(u32, ValType)>> {
        let mut types = Vec::new();
        for declared in body.get_locals_reader()? {
            let (n, kind) = declared?;
            let kind = self.val_type(kind).map_err(plain)?;
            types.extend(std::iter::repeat_n(kind, n as usize));
        }
        let mut n_uses = vec![0_usize; types.len()];
        for operator in body.get_operators_reader()? {
            if let Operator::LocalGet { local_index }
            | Operator::LocalSet { local_index }
            | Operator::LocalTee { local_index } = operator?
                && let Some(variable) = (local_index as usize).checked_sub(n_given)
            {
                n_uses[variable] += 1;
            }
        }
        let mut used: Vec<usize> = (0..types.len()).filter(|&i| n_uses[i] > 0).collect();
        used.sort_by_key(|&i| (rank(types[i]), Reverse(n_uses[i])));
        self.variables = (0..).take(n_given + types.len()).collect();
        let mut declared = Vec::new();
        for (new, &old) in (n_given..).zip(&used) {
            self.variables[n_given + old] = u32::try_from(new)?;
            declared.push((1, types[old]));
        }
        declared.dedup_by(|next, last| {
            let same = next.1 == last.1;
            last.0 += if same { next.0 } else { 0 };
            same
        });
        Ok(declared)
    }

    /// Copies one of the sections whose order stays.
    fn copy(&mut self, payload: Payload, module: &mut Module) -> Result<()> {
        macro_rules! copied {
            ($section:ident, $read:ident, $found:ident) => {{
                let mut section = wasm_encoder::$section::new();
                self.$read(&mut section, $found).map_err(plain)?;
                module.section(&section);
            }};
        }
        match payload {
            Payload::TypeSection(found) => copied!(TypeSection, parse_type_section, found),
            Payload::ImportSection(found) => copied!(ImportSection, parse_import_section, found),
            Payload::TableSection(found) => copied!(TableSection, parse_table_section, found),
            Payload::MemorySection(found) => copied!(MemorySection, parse_memory_section, found),
            Payload::GlobalSection(found) => copied!(GlobalSection, parse_global_section, found),
            Payload::ExportSection(found) => copied!(ExportSection, parse_export_section, found),
            Payload::ElementSection(found) => copied!(ElementSection, parse_element_section, found),
            Payload::DataSection(found) => copied!(DataSection, parse_data_section, found),
            Payload::DataCountSection { count, .. } => {
                module.section(&wasm_encoder::DataCountSection { count });
            }
            Payload::StartSection { func, .. } => {
                let function_index = self.function_index(func).map_err(plain)?;
                module.section(&wasm_encoder::StartSection { function_index });
            }
            Payload::Version { .. }
            | Payload::CodeSectionEntry(_)
            | Payload::CustomSection(_)
            | Payload::End(_) => {}
            other => return Err(anyhow!("a section that is not known here: {other:?}")),
        }
        Ok(())
    }
}

impl Reencode for Numbers {
    type Error = Infallible;

    fn function_index(&mut self, old: u32) -> Result<u32, Error> {
        let new = self.functions.get(old as usize);
        new.copied().ok_or(Error::InvalidConstExpr)
    }

    fn instruction<'a>(&mut self, mut operator: Operator<'a>) -> Result<Instruction<'a>, Error> {
        if let Operator::LocalGet { local_index }
        | Operator::LocalSet { local_index }
        | Operator::LocalTee { local_index } = &mut operator
        {
            *local_index = self.variables[*local_index as usize];
        }
        utils::instruction(self, operator)
    }
}

/// Types in the order in which their variables are declared.
fn rank(kind: ValType) -> u8 {
    match kind {
        ValType::I32 => 0,
        ValType::I64 => 1,
        ValType::F64 => 2,
        _ => 3,
    }
}

fn plain(why: Error) -> anyhow::Error {
    anyhow!("writing the wasm anew: {why}")
}

#[cfg(test)]
mod tests {
    use super::arrange;
    use wasm_encoder::{
        CodeSection, ExportKind, ExportSection, Function, FunctionSection, Instruction, Module,
        TypeSection, ValType,
    };
    use wasmparser::{Operator, Parser, Payload};

    /// Signature, variables and instructions of a function.
    type Told<'a> = (u32, &'a [(u32, ValType)], &'a [Instruction<'a>]);

    /// A module of these functions that exports one of them.
    fn module(functions: &[Told], exported: u32) -> Vec<u8> {
        let mut types = TypeSection::new();
        types.ty().function([], []);
        types.ty().function([ValType::I32], []);
        let (mut signatures, mut code) = (FunctionSection::new(), CodeSection::new());
        for (signature, variables, instructions) in functions {
            signatures.function(*signature);
            let mut function = Function::new(variables.to_vec());
            for instruction in *instructions {
                function.instruction(instruction);
            }
            function.instruction(&Instruction::End);
            code.function(&function);
        }
        let mut exports = ExportSection::new();
        exports.export("start", ExportKind::Func, exported);
        let mut module = Module::new();
        module.section(&types).section(&signatures);
        module.section(&exports).section(&code);
        module.finish()
    }

    #[test]
    fn functions_are_put_by_signature_and_size_and_are_still_called_by_the_same() {
        let (call_long, call_short) = (Instruction::Call(0), Instruction::Call(2));
        let give = Instruction::I32Const(5);
        let before = module(
            &[
                (1, &[], &[Instruction::Nop, Instruction::Nop]),
                (0, &[], &[give.clone(), call_long, give.clone(), call_short]),
                (1, &[], &[]),
            ],
            1,
        );
        let (call_long, call_short) = (Instruction::Call(2), Instruction::Call(1));
        let after = module(
            &[
                (0, &[], &[give.clone(), call_long, give, call_short]),
                (1, &[], &[]),
                (1, &[], &[Instruction::Nop, Instruction::Nop]),
            ],
            0,
        );
        assert_eq!(arrange(&before).unwrap(), after);
        assert_eq!(arrange(&after).unwrap(), after);
    }

    #[test]
    fn the_most_used_variable_of_a_type_comes_first_and_what_is_given_stays() {
        let (i32s, i64s) = ((2, ValType::I32), (1, ValType::I64));
        let rare = [Instruction::I64Const(1), Instruction::LocalSet(1)];
        let often = [Instruction::LocalGet(0), Instruction::LocalTee(3)];
        let body = [&rare[..], &often, &[Instruction::LocalSet(2)]].concat();
        let body = [&body[..], &[Instruction::LocalGet(3), Instruction::Drop]].concat();
        let arranged = arrange(&module(&[(1, &[i64s, i32s], &body)], 0)).unwrap();
        let mut variables = Vec::new();
        let mut declared = Vec::new();
        for payload in Parser::new(0).parse_all(&arranged) {
            if let Payload::CodeSectionEntry(body) = payload.unwrap() {
                for found in body.get_locals_reader().unwrap() {
                    declared.push(found.unwrap());
                }
                for operator in body.get_operators_reader().unwrap() {
                    if let Operator::LocalGet { local_index }
                    | Operator::LocalSet { local_index }
                    | Operator::LocalTee { local_index } = operator.unwrap()
                    {
                        variables.push(local_index);
                    }
                }
            }
        }
        assert_eq!(variables, [3, 0, 1, 2, 1]);
        assert_eq!(
            declared,
            [(2, wasmparser::ValType::I32), (1, wasmparser::ValType::I64)]
        );
    }

    #[test]
    fn what_is_no_module_is_refused() {
        assert!(arrange(b"text").is_err());
    }
}
