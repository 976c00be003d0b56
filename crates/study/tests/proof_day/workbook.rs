//! A workbook as small as there can be: one sheet, nothing packed.

/// The bytes of a workbook with `rows` on its one sheet; what is a number is written as
/// one.
pub fn workbook(rows: &[Vec<String>]) -> Vec<u8> {
    let mut sheet = String::from(
        "<?xml version=\"1.0\"?><worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><sheetData>",
    );
    for (at, row) in rows.iter().enumerate() {
        sheet.push_str(&format!("<row r=\"{}\">", at + 1));
        for (column, cell) in row.iter().enumerate() {
            let letter = char::from(b'A' + u8::try_from(column).unwrap());
            let place = format!("{letter}{}", at + 1);
            sheet.push_str(&match cell.parse::<f64>() {
                Ok(_) => format!("<c r=\"{place}\"><v>{cell}</v></c>"),
                Err(_) if cell.is_empty() => String::new(),
                Err(_) => format!("<c r=\"{place}\" t=\"inlineStr\"><is><t>{cell}</t></is></c>"),
            });
        }
        sheet.push_str("</row>");
    }
    sheet.push_str("</sheetData></worksheet>");
    let main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let rels = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let package = "http://schemas.openxmlformats.org/package/2006/relationships";
    let parts = [
        (
            "_rels/.rels",
            format!(
                "<Relationships xmlns=\"{package}\"><Relationship Id=\"r1\" Type=\"{rels}/officeDocument\" Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/workbook.xml",
            format!(
                "<workbook xmlns=\"{main}\" xmlns:r=\"{rels}\"><sheets><sheet name=\"Readings\" sheetId=\"1\" r:id=\"r1\"/></sheets></workbook>"
            ),
        ),
        (
            "xl/_rels/workbook.xml.rels",
            format!(
                "<Relationships xmlns=\"{package}\"><Relationship Id=\"r1\" Type=\"{rels}/worksheet\" Target=\"worksheets/sheet1.xml\"/></Relationships>"
            ),
        ),
        ("xl/worksheets/sheet1.xml", sheet),
    ];
    stored(&parts)
}

fn stored(parts: &[(&str, String)]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for (name, text) in parts {
        let at = u32::try_from(out.len()).unwrap();
        let size = u32::try_from(text.len()).unwrap().to_le_bytes();
        let length = u16::try_from(name.len()).unwrap().to_le_bytes();
        let mut common = vec![20, 0, 0, 0, 0, 0, 0, 0, 0x21, 0];
        common.extend(sum(text.as_bytes()).to_le_bytes());
        common.extend(size);
        common.extend(size);
        common.extend(length);
        common.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&common);
        out.extend(name.as_bytes());
        out.extend(text.as_bytes());
        list.extend(b"PK\x01\x02\x14\x00");
        list.extend(&common);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(name.as_bytes());
    }
    let at = u32::try_from(out.len()).unwrap().to_le_bytes();
    let size = u32::try_from(list.len()).unwrap().to_le_bytes();
    let count = u16::try_from(parts.len()).unwrap().to_le_bytes();
    out.extend(list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count);
    out.extend(count);
    out.extend(size);
    out.extend(at);
    out.extend([0, 0]);
    out
}

/// The check sum of a zip's part.
fn sum(bytes: &[u8]) -> u32 {
    let mut sum = u32::MAX;
    for byte in bytes {
        sum ^= u32::from(*byte);
        for _ in 0..8 {
            sum = match sum & 1 {
                1 => (sum >> 1) ^ 0xEDB8_8320,
                _ => sum >> 1,
            };
        }
    }
    !sum
}
